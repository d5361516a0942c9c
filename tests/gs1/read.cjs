// read.cjs FOLDER - reads codes from standard input, an array in JSON, and prints what two packages of FOLDER make of each:
// [[identifier, data, date or null], ...], or null where a package cannot read it.
const { createRequire } = require("module");
const { resolve } = require("path");
const load = createRequire(resolve(process.argv[2], "package.json"));
const bark = load("bark-js");
const { parseBarcode } = load("gs1-barcode-parser-mod");

const attempt = (read) => {
  try {
    return read();
  } catch {
    return null;
  }
};
const codes = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(codes.map((code) => ({
  "bark-js": attempt(() => bark(code).elements.map((e) => [e.ai, e.raw.replace(/\x1d$/, ""), null])),
  "gs1-barcode-parser-mod": attempt(() => parseBarcode(code).parsedCodeItems.map((e) =>
    [e.ai, String(e.raw ?? e.data), e.data instanceof Date ? e.data.toISOString().slice(0, 10) : null])),
}))));
