// What cannot be told from a page's source: sizes, places, rings. Each function returns sentences, and none where all
// is well.
{
  unfold() {
    const folded = [...document.querySelectorAll("main details:not([open])")];
    for (const part of folded) part.open = true;
    return folded.map((part) => part.querySelector("summary").textContent);
  },

  // A control's own box, or that of its label where touching the label is the same. Left out, as in WCAG 2.2, success
  // criterion 2.5.8: links within a sentence, and what is not shown (an input behind its label, the skip link).
  smallTargets(least) {
    const controls = "a[href], button, summary, select, textarea, input:not([type=hidden]), [role=button]";
    const isInSentence = (link) => {
      if (!link.matches("a") || getComputedStyle(link).display !== "inline" || link.ownerSVGElement) return false;
      let block = link.parentElement;
      while (getComputedStyle(block).display === "inline") block = block.parentElement;
      return block.textContent.trim().length > link.textContent.trim().length;
    };
    const found = [];
    for (const control of document.querySelectorAll(controls)) {
      if (!control.checkVisibility({ visibilityProperty: true }) || isInSentence(control)) continue;
      const parts = [control, ...(control.matches("input") ? control.labels : [])];
      const shown = parts.map((part) => part.getBoundingClientRect()).filter((box) => box.width > 1 && box.right > 0);
      if (!shown.length) continue;
      const width = Math.max(...shown.map((box) => box.width));
      const height = Math.max(...shown.map((box) => box.height));
      const need = control.closest("main") ? least : 44;
      if (width < need - 0.5 || height < need - 0.5) {
        const words = (control.textContent.trim() || control.name || "").replace(/\s+/g, " ").slice(0, 40);
        const size = `${Math.round(width)} × ${Math.round(height)} px`;
        found.push(`${control.localName} “${words}” is ${size}, not ${need}`);
      }
    }
    return found;
  },

  // Wider than the screen, but for what scrolls within a box of its own.
  tooWide() {
    const screen = document.documentElement.clientWidth;
    const page = document.scrollingElement.scrollWidth;
    if (page <= screen) return [];
    const scrolls = (part) =>
      part && part !== document.body && (getComputedStyle(part).overflowX !== "visible" || scrolls(part.parentElement));
    const tell = (part) => {
      const name = part.className?.baseVal ?? part.className;
      return `${part.localName}.${name} ends at ${Math.round(part.getBoundingClientRect().right)} px`;
    };
    const wide = [...document.querySelectorAll("body *")].filter(
      (part) => part.getBoundingClientRect().right > screen + 0.5 && !scrolls(part.parentElement),
    );
    return [`${page} px wide: ${wide.slice(0, 3).map(tell).join(", ")}`];
  },

  // What has the focus and shows neither an outline of at least 2 px nor a ring.
  unseenFocus() {
    const focused = document.activeElement;
    const style = getComputedStyle(focused);
    const isOutlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    if (isOutlined || style.boxShadow !== "none") return [];
    return [`${focused.localName} “${(focused.textContent.trim() || focused.name).slice(0, 40)}”`];
  },

  // Smaller words than that.
  smallWords([selector, least]) {
    const sizes = [...document.querySelectorAll(selector)].map((part) => parseFloat(getComputedStyle(part).fontSize));
    return sizes.filter((size) => size < least).map((size) => `${selector} in ${size} px, not ${least}`);
  },
}
