// The words and the look of the batch report, for a phone of 360 px and for A4.
#include "report/page_text.h"

namespace clutchward {

const char* const kReportPage = R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Batch {{batch}}</title>
<style>
body { font: 16px/1.45 "DejaVu Sans", sans-serif; color: #1d2320; background: #fff; max-width: 52rem;
  margin: 0 auto; padding: 0.5rem; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 0.5rem 0; } h2 { font-size: 1.15rem; margin: 1.6rem 0 0.4rem;
  border-bottom: 2px solid #456; }
table { border-collapse: collapse; width: 100%; font-size: 0.85rem; }
th, td { text-align: left; vertical-align: top; padding: 0.15rem 0.3rem; border-bottom: 1px solid #bcc;
  overflow-wrap: break-word; }
.scroll, .wide { overflow-x: auto; } .wide table { min-width: 34rem; } .wide td, .wide th { overflow-wrap: normal; }
.glance { display: grid; grid-template-columns: repeat(auto-fit, minmax(9rem, 1fr)); gap: 0.4rem; margin: 0.8rem 0; }
.glance div { border: 1px solid #bcc; border-radius: 0.3rem; padding: 0.3rem 0.5rem; }
.glance b { display: block; font-size: 1.2rem; } .sign { display: none; }
dl { display: grid; grid-template-columns: auto 1fr; gap: 0.1rem 0.8rem; margin: 0; }
dt { color: #455; } dd { margin: 0; }
svg { width: 100%; height: auto; } svg text { font-size: 12px; fill: #344; }
.grid { stroke: #cdd; stroke-width: 1; } .band { fill: #cfe6d4; } .range { fill: #7895b8; fill-opacity: 0.45; }
.mean { fill: none; stroke: #1b3f6e; stroke-width: 1.2; } .alarm { fill: #8a6100; } .alarm.high { fill: #a3161c; }
.note { font-size: 0.85rem; color: #455; }
nav a { display: inline-flex; align-items: center; min-height: 44px; color: inherit; }
@media (max-width: 30rem) { svg { overflow: visible; } svg text { font-size: 22px; } }
@page { size: A4; margin: 14mm 14mm 16mm;
  @bottom-right { content: counter(page) " / " counter(pages); font: 8pt "DejaVu Sans", sans-serif; } }
@media print { nav { display: none; } body { font-size: 10pt; max-width: none; padding: 0; } table { font-size: 8pt; }
  svg text { font-size: 12px; } h2, h3 { break-after: avoid; margin-top: 0.9rem; } p, ul { margin: 0.3rem 0; }
  tr, svg, dl, li, p, table, .glance, .sign { break-inside: avoid; } .long table { break-inside: auto; }
  thead { display: table-header-group; } .note { break-before: avoid; }
  .scroll, .wide { overflow: visible; } .wide table { min-width: 0; }
  .sign { display: flex; gap: 8mm; margin-top: 12mm; break-before: avoid; } .sign span { flex: 1; border-top: 1px solid #1d2320;
    padding-top: 1mm; font-size: 8pt; } }
</style>
</head>
<body>
<main>
<h1>{{#site}}{{site}}: {{/site}}Batch {{batch}}</h1>
<dl>
{{#name}}<dt>Species</dt><dd>{{name}}</dd>
{{/name}}{{#cabinets}}<dt>Cabinet</dt><dd>{{cabinet}}, {{from}} to {{to}}</dd>
{{/cabinets}}<dt>Set</dt><dd>{{set_at}}{{#stored_days}}, stored {{stored_days}} days before{{/stored_days}}</dd>
<dt>Ended</dt><dd>{{#ended_at}}{{ended_at}}{{#ended_by}} by {{ended_by}}{{/ended_by}}{{/ended_at}}{{^ended_at}}not yet; known until {{until}}{{/ended_at}}</dd>
<dt>Eggs set</dt><dd>{{#eggs}}{{eggs}}{{/eggs}}{{^eggs}}not said{{/eggs}}</dd>
{{#split_from}}<dt>Split from</dt><dd>{{split_from}}</dd>
{{/split_from}}{{#note}}<dt>Note</dt><dd>{{note}}</dd>
{{/note}}<dt>Times</dt><dd>{{timezone}}</dd>
</dl>
{{#glance?}}<div class="glance">
{{#glance}}<div>{{what}}<b>{{figure}}</b>{{#of}}<span class="note">{{of}}</span>{{/of}}</div>
{{/glance}}</div>
{{/glance?}}
<h2>Temperature</h2>
{{#has_temperature}}{{{temperature_curve}}}
<p class="note">{{unit}} over the days since setting: mean of each hour, from its lowest to its highest. The
green band goes from {{band_below}} {{unit}} below to {{band_above}} {{unit}} above the target. Triangles: alarms; red ones of high priority.</p>
{{#temperature_summary}}<p>Mean {{mean}} {{unit}}, coldest {{coldest}} {{unit}}, hottest {{hottest}} {{unit}}; readings for {{known_hours}} of {{hours}} h.</p>
{{/temperature_summary}}{{/has_temperature}}{{^has_temperature}}<p>No temperature was kept.</p>
{{/has_temperature}}{{#stages?}}<div class="scroll" tabindex="0" role="group" aria-label="Stages"><table>
<thead><tr><th scope="col">Stage</th><th scope="col">From</th><th scope="col">Target {{unit}}</th><th scope="col">Humidity %</th></tr></thead>
<tbody>
{{#stages}}<tr><td>{{stage}}</td><td>{{from}}</td><td>{{target}}</td><td>{{#humidity_from}}{{humidity_from}} to {{humidity_to}}{{/humidity_from}}</td></tr>
{{/stages}}</tbody>
</table></div>
{{/stages?}}
<h2>Excursions</h2>
{{#steps?}}<div class="scroll" tabindex="0" role="group" aria-label="Hours from the target"><table>
<thead><tr><th scope="col">From the target</th><th scope="col">Hours</th><th scope="col">Degree-hours</th></tr></thead>
<tbody>
{{#steps}}<tr><td>more than {{by}} {{unit}} {{side}}</td><td>{{hours}}</td><td>{{degree_hours}}</td></tr>
{{/steps}}</tbody>
</table></div>
<p class="note">The same steps for every batch, so that batches compare. The mean of the air probes counts; airings and
the time to regain the heat do not count as cold.</p>
{{/steps?}}{{#excursions?}}<div class="wide{{#excursions_long}} long{{/excursions_long}}" tabindex="0" role="group" aria-label="Excursions"><table>
<thead><tr><th scope="col">From</th><th scope="col">To</th><th scope="col">Side</th><th scope="col">Farthest {{unit}}</th><th scope="col">Hours</th><th scope="col">Degree-hours</th></tr></thead>
<tbody>
{{#excursions}}<tr><td>{{from}}</td><td>{{to}}</td><td>{{side}}</td><td>{{farthest}}</td><td>{{hours}}</td><td>{{degree_hours}}</td></tr>
{{/excursions}}</tbody>
</table></div>
{{/excursions?}}{{^excursions?}}<p>None.</p>
{{/excursions?}}
{{#cold_spells}}<h2>Cold spell on day {{day}}</h2>
<p>{{from}} to {{to}}: air down to {{coldest_air}} {{unit}}, the eggs to about {{coldest_egg}} {{unit}} (estimated); {{egg_hours_below_35}} h below {{cold}} {{unit}}.</p>
<ul>
{{#advice}}<li>{{text}}</li>
{{/advice}}</ul>
{{/cold_spells}}
<h2>Humidity</h2>
{{#has_humidity}}{{{humidity_curve}}}
<p class="note">Relative humidity in %, over the days since setting; the green band is the stage's.</p>
{{#humidity_summary}}{{^mean}}<p>No humidity readings.</p>
{{/mean}}{{#mean}}<p>Mean {{mean}} %; {{above_hours}} h above the band, {{below_hours}} h below it, of {{known_hours}} h with readings.</p>
{{/mean}}{{/humidity_summary}}{{/has_humidity}}{{^has_humidity}}<p>No humidity was kept.</p>
{{/has_humidity}}
<h2>Alarms and who answered</h2>
{{#alarms?}}<div class="wide{{#alarms_long}} long{{/alarms_long}}" tabindex="0" role="group" aria-label="Alarms"><table>
<thead><tr><th scope="col">Raised</th><th scope="col">Alarm</th><th scope="col">Priority</th><th scope="col">Latched</th><th scope="col">Returned</th><th scope="col">Answered by</th><th scope="col">After, min</th></tr></thead>
<tbody>
{{#alarms}}<tr><td>{{raised}}</td><td>{{alarm}}, {{cabinet}}</td><td>{{priority}}</td><td>{{#latched}}yes{{/latched}}{{^latched}}no{{/latched}}</td><td>{{#returned}}{{returned}}{{/returned}}{{^returned}}-{{/returned}}</td><td>{{#answered_by}}{{answered_by}}{{/answered_by}}{{^answered_by}}nobody{{/answered_by}}</td><td>{{answer_minutes}}</td></tr>
{{/alarms}}</tbody>
</table></div>
{{/alarms?}}{{^alarms?}}<p>None.</p>
{{/alarms?}}
<h2>Turning</h2>
{{#turning?}}<div class="wide{{#turning_long}} long{{/turning_long}}" tabindex="0" role="group" aria-label="Turning"><table>
<thead><tr><th scope="col">Day</th><th scope="col">By machine</th><th scope="col">By hand</th><th scope="col">Too short</th><th scope="col">Too long</th><th scope="col">Same side</th></tr></thead>
<tbody>
{{#turning}}<tr><td>{{date}}</td><td>{{by_machine}}</td><td>{{by_hand}}</td><td>{{too_short}}</td><td>{{too_long}}</td><td>{{same_side}}</td></tr>
{{/turning}}</tbody>
</table></div>
{{#turning_note}}<p>{{turning_note}}</p>{{/turning_note}}
{{/turning?}}{{^turning?}}<p>No turn was reported.</p>
{{/turning?}}{{#airings?}}
<h2>Airings</h2>
<div class="wide{{#airings_long}} long{{/airings_long}}" tabindex="0" role="group" aria-label="Airings"><table>
<thead><tr><th scope="col">From</th><th scope="col">To</th><th scope="col">Lowest {{unit}}</th><th scope="col">Warm again</th><th scope="col">Outcome</th></tr></thead>
<tbody>
{{#airings}}<tr><td>{{from}}</td><td>{{to}}</td><td>{{lowest}}</td><td>{{regained}}</td><td>{{verdict}}</td></tr>
{{/airings}}</tbody>
</table></div>
{{/airings?}}
<h2>Egg mass</h2>
{{#mass}}{{#weighings?}}<div class="wide" tabindex="0" role="group" aria-label="Weighings"><table>
<thead><tr><th scope="col">Day</th><th scope="col">Eggs</th><th scope="col">g</th><th scope="col">g an egg</th><th scope="col">Line g</th><th scope="col">Lost %</th><th scope="col">Line %</th></tr></thead>
<tbody>
{{#weighings}}<tr><td>{{day}}</td><td>{{eggs}}</td><td>{{grams}}</td><td>{{grams_an_egg}}</td><td>{{wanted_grams}}</td><td>{{lost_percent}}</td><td>{{line_percent}}</td></tr>
{{/weighings}}</tbody>
</table></div>
{{/weighings?}}{{#wanted}}<p>Wanted: {{from}} to {{to}} % by day {{by_day}}; the line goes to the middle of that.</p>
{{/wanted}}{{#lost_percent}}<p>Lost {{lost_percent}} %, where the line asks for {{line_percent}} %.{{#compared_by_mean}} Eggs were taken out in between: means are compared.{{/compared_by_mean}}</p>
{{/lost_percent}}{{#cannot_be_told}}<p>The loss cannot be told: {{cannot_be_told}}.</p>
{{/cannot_be_told}}{{/mass}}
{{#candlings?}}<h2>Candlings</h2>
<div class="wide" tabindex="0" role="group" aria-label="Candlings"><table>
<thead><tr><th scope="col">When</th><th scope="col">Removed</th><th scope="col">By</th><th scope="col">Note</th></tr></thead>
<tbody>
{{#candlings}}<tr><td>{{at}}</td><td>{{removed}}</td><td>{{by}}</td><td>{{note}}</td></tr>
{{/candlings}}</tbody>
</table></div>
{{/candlings?}}
<h2>What was done with it</h2>
<ul>
{{#deeds}}<li>{{text}}</li>
{{/deeds}}</ul>
<h2>The hatch</h2>
{{#hatch}}{{#set}}<dl>
<dt>Fertility (fertile of set)</dt><dd>{{#open}}at least {{/open}}{{fertility_percent}} % ({{fertile}} of {{set}}{{#open}}; {{unaccounted}} not accounted for count as infertile, at most {{fertility_percent_at_most}} %{{/open}})</dd>
<dt>Hatch of fertile</dt><dd>{{#hatch_of_fertile_percent}}{{#open}}at most {{/open}}{{hatch_of_fertile_percent}} % ({{hatched}} of {{fertile}}{{#open}}; at least {{hatch_of_fertile_percent_at_least}} %, were those not accounted for fertile{{/open}}){{/hatch_of_fertile_percent}}{{^hatch_of_fertile_percent}}none was fertile{{/hatch_of_fertile_percent}}</dd>
<dt>Hatch of set</dt><dd>{{hatch_of_set_percent}} % ({{hatched}} of {{set}})</dd>
<dt>Not accounted for</dt><dd>{{unaccounted}}</dd>
</dl>
{{#classes?}}<div class="scroll" tabindex="0" role="group" aria-label="Deaths by class"><table>
<thead><tr><th scope="col">Class</th><th scope="col">Eggs</th><th scope="col">% of fertile</th></tr></thead>
<tbody>
{{#classes}}<tr><td>{{class}}</td><td>{{eggs}}</td><td>{{percent_of_fertile}}</td></tr>
{{/classes}}</tbody>
</table></div>
{{/classes?}}{{/set}}{{#cannot_be_told}}<p>Cannot be told: {{cannot_be_told}}.</p>
{{/cannot_be_told}}{{/hatch}}
<h3>Published beside it</h3>
<div class="wide" tabindex="0" role="group" aria-label="Published figures"><table>
<thead><tr><th scope="col">Figure</th><th scope="col">Value</th><th scope="col">Birds</th><th scope="col">Source</th></tr></thead>
<tbody>
{{#benchmarks}}<tr><td>{{what}}</td><td>{{figure}}</td><td>{{birds}}</td><td>{{source}}</td></tr>
{{/benchmarks}}</tbody>
</table></div>
<h2>Likely shift of the hatch</h2>
{{#hatch_shift}}{{#cannot_be_told}}<p>Cannot be told: {{cannot_be_told}}.</p>
{{/cannot_be_told}}{{#hours}}<p>{{hours}} h (later is positive), somewhere between {{earliest_hours}} h and {{latest_hours}} h. A rough
estimate, from few trials on few species.</p>
<ul>
{{#from}}<li>{{cause}}: {{hours}} h ({{earliest_hours}} to {{latest_hours}} h)</li>
{{/from}}</ul>
{{/hours}}{{/hatch_shift}}
{{#corrections?}}<h2>Corrections</h2>
<ul>
{{#corrections}}<li>{{at}}, {{by}}: {{what}}</li>
{{/corrections}}</ul>
{{/corrections?}}
<h2>Mind</h2>
<ul>
{{#cautions}}<li>{{text}}</li>
{{/cautions}}</ul>
<div class="sign"><span>Looked through by</span><span>Date</span><span>Remarks</span></div>
</main>
</body>
</html>
)";

}  // namespace clutchward
