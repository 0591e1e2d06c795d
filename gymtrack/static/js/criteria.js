// The editor of a criterion: after the sentence was renewed while somebody types, fields say of themselves whether they
// are wrong, and what is folded away opens when something in it is. Without this file each button does as much.

function mark(box) {
  const isWrong = box.childElementCount > 0;
  const field = document.getElementById(box.id.slice(0, -"-wrong".length));
  if (isWrong) field?.setAttribute("aria-invalid", "true");
  else field?.removeAttribute("aria-invalid");
  if (isWrong) box.closest("details")?.setAttribute("open", "");
}

document.addEventListener("htmx:afterSettle", () => document.querySelectorAll("#rule .wrong").forEach(mark));
