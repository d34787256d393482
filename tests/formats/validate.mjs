// Which bundles does the npm validator accept? One line of JSON for each file.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const require = createRequire(import.meta.url);
const { Fhir } = require("fhir");
const fhir = new Fhir();

for (const path of process.argv.slice(2)) {
    const found = fhir.validate(JSON.parse(readFileSync(path, "utf8")), { errorOnUnexpected: true });
    const errors = found.messages.filter((one) => one.severity === "error" || one.severity === "fatal");
    const words = errors.map((one) => `${one.location}: ${one.message}`);
    console.log(JSON.stringify({ path, accepts: found.valid && errors.length === 0, words }));
}
