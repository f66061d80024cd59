// Reads an iCalendar from standard input with ical.js and prints its events as JSON: another
// reader's word on what the daemon writes (RFC 5545).
import ICAL from "ical.js";

let text = "";
for await (const chunk of process.stdin) text += chunk;
const all = new ICAL.Component(ICAL.parse(text));
const events = all.getAllSubcomponents("vevent").map((each) => {
  const event = new ICAL.Event(each);
  return {
    uid: event.uid,
    summary: event.summary,
    start: event.startDate.toString(),
    end: event.endDate.toString(),
    description: event.description,
    location: event.location,
  };
});
console.log(JSON.stringify({ version: all.getFirstPropertyValue("version"), events }));
