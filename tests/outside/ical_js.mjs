// Reads calendars with ical.js and says what it read. Usage: node ical_js.mjs FOLDER, FOLDER holding node_modules/ical.js.
// One calendar a line comes in as a JSON string; one JSON answer a line goes out: {"events": […]} or {"error": "…"}.
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";

const address = pathToFileURL(`${process.argv[2]}/node_modules/ical.js/dist/ical.js`);
const { default: ICAL } = await import(address);

const said = (time) => (time.isDate ? time.toString() : time.toUnixTime());
const text = (component, name) => component.getFirstPropertyValue(name) ?? "";

function read(octets) {
    const calendar = new ICAL.Component(ICAL.parse(octets));
    if (calendar.name !== "vcalendar") throw new Error("not one calendar");
    ICAL.TimezoneService.reset();
    for (const zone of calendar.getAllSubcomponents("vtimezone")) ICAL.TimezoneService.register(zone);
    const events = calendar.getAllSubcomponents("vevent").flatMap((part) => {
        const event = new ICAL.Event(part);
        const facts = {
            uid: event.uid,
            title: event.summary ?? "",
            body: event.description ?? "",
            place: event.location ?? "",
            sequence: event.sequence,
            status: text(part, "status"),
            tags: part.getFirstProperty("categories")?.getValues() ?? [],
            stamp: text(part, "dtstamp") && text(part, "dtstamp").toUnixTime(),
        };
        if (!event.isRecurring()) return [{ ...facts, start: said(event.startDate), end: said(event.endDate) }];
        const found = [];
        const all = event.iterator();
        for (let next = all.next(); next && found.length < 2000; next = all.next()) {
            const one = event.getOccurrenceDetails(next);
            found.push({ ...facts, start: said(one.startDate), end: said(one.endDate) });
        }
        return found;
    });
    return { events, name: text(calendar, "name"), parts: calendar.getAllSubcomponents().length };
}

for await (const line of createInterface({ input: process.stdin })) {
    let answer;
    try {
        answer = read(JSON.parse(line));
    } catch (error) {
        answer = { error: String(error) };
    }
    process.stdout.write(`${JSON.stringify(answer)}\n`);
}
