// Loads a page's module as the browser does: as an ES module, whatever this Node makes of a .js file.
import { readFile } from "node:fs/promises";

const folder = new URL("../../gymtrack/static/js/", import.meta.url);

export async function load(name) {
  const source = await readFile(new URL(name, folder), "utf8");
  return import(`data:text/javascript,${encodeURIComponent(source)}`);
}
