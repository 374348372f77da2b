// Writes dist/: the fonts of the pages (woff2) and of the printed sheets (the same as ttf), with
// their licences and a stylesheet that names them, and the pages' scripts, a file for each in scripts/.
import { build } from "esbuild";
import { mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";

const require = createRequire(import.meta.url);
const { decompress } = require("wawoff2");

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const dist = here("./dist/");

const families = [
  { short: "serif", pack: "source-serif-4", name: "Source Serif 4" },
  { short: "sans", pack: "source-sans-3", name: "Source Sans 3" },
];
const weights = [400, 600];
// `latin` has the plain name; `latin-ext` holds the letters of Central Europe and the subscripts.
const subsets = [
  { name: "latin", suffix: "" },
  { name: "latin-ext", suffix: "-ext" },
];

// A ttf or otf begins with one of these; anything else means the conversion went wrong.
function assertFont(bytes, file) {
  const tag = Buffer.from(bytes.slice(0, 4)).toString("latin1");
  if (tag !== "\u0000\u0001\u0000\u0000" && tag !== "OTTO" && tag !== "true") {
    throw new Error(`${file} did not turn into a font file`);
  }
}

await rm(dist, { recursive: true, force: true });
await mkdir(dist, { recursive: true });

const faces = [];
for (const family of families) {
  const from = (path) => here(`./node_modules/@fontsource/${family.pack}/${path}`);
  const ranges = JSON.parse(await readFile(from("unicode.json"), "utf8"));
  for (const weight of weights) {
    for (const subset of subsets) {
      const file = `${family.short}-${weight}${subset.suffix}`;
      const woff2 = await readFile(
        from(`files/${family.pack}-${subset.name}-${weight}-normal.woff2`),
      );
      const ttf = await decompress(woff2);
      assertFont(ttf, file);
      await writeFile(`${dist}${file}.woff2`, woff2);
      await writeFile(`${dist}${file}.ttf`, ttf);
      faces.push(
        `@font-face{font-family:"${family.name}";font-style:normal;font-weight:${weight};` +
          `font-display:swap;src:url("${file}.woff2") format("woff2");` +
          `unicode-range:${ranges[subset.name]}}`,
      );
    }
  }
  await writeFile(`${dist}${family.short}-LICENSE.txt`, await readFile(from("LICENSE")));
}
await writeFile(`${dist}fonts.css`, faces.join("\n") + "\n");

// A script of its own for each page that asks for one; what they share is bundled into each.
const scripts = (await readdir(here("./scripts"))).filter((name) => name.endsWith(".js"));
const { metafile } = await build({
  absWorkingDir: here("."),
  entryPoints: scripts.map((name) => here(`./scripts/${name}`)),
  outdir: dist,
  bundle: true,
  minify: true,
  format: "esm",
  target: ["es2022"],
  legalComments: "eof",
  logLevel: "warning",
  metafile: true,
});

// What is bundled ships with the program, so its licence must be one that may.
const allowed = (await readFile(here("../tests/checks/licences-allowed.txt"), "utf8"))
  .split("\n")
  .filter((line) => line && !line.startsWith("#"));
const packs = new Set(
  Object.keys(metafile.inputs)
    .map((path) => path.match(/^.*node_modules\/(?:@[^/]+\/)?[^/]+/)?.[0])
    .filter(Boolean),
);
for (const pack of packs) {
  const { name, license } = JSON.parse(await readFile(here(`./${pack}/package.json`), "utf8"));
  if (!allowed.includes(license)) {
    throw new Error(`${name} is bundled and its licence (${license}) is not one that may ship`);
  }
}
