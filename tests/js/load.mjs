// Loads a page's module as the browser does: as an ES module with its relative imports, whatever this Node makes of a
// .js file. The modules are copied to a folder of their own that says so, for as long as this process runs.
import { cpSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const source = fileURLToPath(new URL("../../gymtrack/static/js/", import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "page-modules-"));
cpSync(source, folder, { recursive: true });
writeFileSync(join(folder, "package.json"), '{"type": "module"}');
process.on("exit", () => rmSync(folder, { recursive: true, force: true }));

export async function load(name) {
  return import(pathToFileURL(join(folder, name)).href);
}
