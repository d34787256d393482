// What do readers that others wrote find in a file? One line of JSON for each file:
// a zip by yauzl, a table by csv-parse, dates by ical.js; or why it is refused.
import { createRequire } from "node:module";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { extname } from "node:path";

const require = createRequire(import.meta.url);
const yauzl = require("yauzl");
const { parse } = require("csv-parse/sync");
const ical = require("ical.js");
const ICAL = ical.default ?? ical;

/** The name and the hash of each file of a zip; yauzl refuses names that climb out. */
function zip(path) {
    return new Promise((done, refused) => {
        yauzl.open(path, { lazyEntries: true, strictFileNames: true, validateEntrySizes: true }, (fault, file) => {
            if (fault) return refused(fault);
            const found = {};
            file.on("error", refused);
            file.on("end", () => done(found));
            file.on("entry", (entry) => {
                file.openReadStream(entry, (fault, stream) => {
                    if (fault) return refused(fault);
                    const hash = createHash("sha256");
                    stream.on("data", (part) => hash.update(part));
                    stream.on("error", refused);
                    stream.on("end", () => {
                        found[entry.fileName] = hash.digest("hex");
                        file.readEntry();
                    });
                });
            });
            file.readEntry();
        });
    });
}

/** The rows of a table, the head among them. */
function table(path) {
    return parse(readFileSync(path), { relax_column_count: false, relax_quotes: false, record_delimiter: "\r\n" });
}

/** The events of a calendar: name, day, words, class. */
function dates(path) {
    const calendar = new ICAL.Component(ICAL.parse(readFileSync(path, "utf8")));
    return calendar.getAllSubcomponents("vevent").map((one) => {
        const event = new ICAL.Event(one);
        return {
            uid: event.uid,
            day: event.startDate.toString(),
            whole: event.startDate.isDate,
            words: event.summary,
            privacy: one.getFirstPropertyValue("class"),
            parts: one.getAllSubcomponents().length,
        };
    });
}

const readers = { ".zip": zip, ".csv": table, ".ics": dates };
for (const path of process.argv.slice(2)) {
    try {
        console.log(JSON.stringify({ path, found: await readers[extname(path)](path) }));
    } catch (fault) {
        console.log(JSON.stringify({ path, refused: String(fault.message ?? fault) }));
    }
}
