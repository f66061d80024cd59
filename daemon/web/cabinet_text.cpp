// The words and the order of a cabinet's own page, and of the card for its door.
#include "web/cabinet_page.h"

namespace clutchward {

const std::string_view kCabinetTemplate = R"(<main>
<h1 id="title"><bdi>{{title}}</bdi></h1>
<p class="note" id="now">As of {{now}}.</p>
<noscript><p class="inner">This page does not renew itself: it shows what was so at {{now}}. <a href="{{self}}">Look again</a></p></noscript>
<div id="cards">
{{#cards}}{{>card}}{{/cards}}
</div>
{{>curve}}
{{#probes?}}
<section id="part-probes" aria-labelledby="probes">
<h2 id="probes">Probes</h2>
<table>
<thead><tr><th scope="col">Probe</th><th scope="col">Says</th><th scope="col">When</th></tr></thead>
<tbody>
{{#probes}}
<tr><th scope="row"><bdi>{{name}}</bdi></th><td>{{text}}</td><td>{{at}}</td></tr>
{{/probes}}
</tbody>
</table>
</section>
{{/probes?}}
<section id="part-rules" aria-labelledby="rules">
<h2 id="rules">Rules in force</h2>
<ul class="list">
{{#rules}}
<li><b><bdi>{{name}}</bdi></b> <span class="stands">{{state}}</span><span class="rings">{{text}}</span>{{#from}}<span class="from">{{from}}</span>{{/from}}</li>
{{/rules}}
</ul>
</section>
{{#guide?}}
<section id="part-guide" aria-labelledby="guide">
<h2 id="guide">For whoever stands in</h2>
<ul class="list">
{{#guide}}
<li>{{text}}</li>
{{/guide}}
</ul>
</section>
{{/guide?}}
{{>coming}}{{>happened}}{{#manage}}{{>forms}}{{/manage}}<p class="inner"><a href="{{card_link}}">A card for its door</a></p>
</main>
)";

// What every form carries.
const std::string_view kFormTopPartial =
    R"(<input type="hidden" name="token" value="{{form_token}}"><input type="hidden" name="to" value="{{to}}">)";

const std::string_view kFormsPartial = R"(<section id="part-batches" aria-labelledby="batches">
<h2 id="batches">Batches</h2>
{{#running}}
<h3><bdi>{{id}}</bdi></h3>
<p class="note">{{text}}</p>
{{#set}}<details><summary>Candle…</summary>
<form method="post" action="/do" class="fields">
{{>form_top}}<input type="hidden" name="batch" value="{{id}}"><input type="hidden" name="do" value="candled">
<p>How many were taken out, and why. Leave all empty if every egg was good.</p>
<div class="pair">
{{#fates}}<div><label for="candle-{{place}}-{{word}}">{{text}}</label><input id="candle-{{place}}-{{word}}" name="fate_{{word}}" inputmode="numeric" pattern="[0-9]*" maxlength="6"></div>
{{/fates}}</div>
<label for="candle-{{place}}-note">A note</label>
<input id="candle-{{place}}-note" name="note" maxlength="200">
<button class="main">Write it down</button>
</form></details>
<details><summary>Weigh…</summary>
<form method="post" action="/do" class="fields">
{{>form_top}}<input type="hidden" name="batch" value="{{id}}"><input type="hidden" name="do" value="weighed">
<label for="weigh-{{place}}-grams">All eggs together, in grams, without the tray</label>
<input id="weigh-{{place}}-grams" name="grams" inputmode="decimal" pattern="[0-9]+([.,][0-9]+)?" required maxlength="12">
<label for="weigh-{{place}}-eggs">How many were weighed, if not all</label>
<input id="weigh-{{place}}-eggs" name="eggs" inputmode="numeric" pattern="[0-9]*" maxlength="6">
<p class="tick"><input type="checkbox" id="weigh-{{place}}-sure" name="sure" value="yes"><label for="weigh-{{place}}-sure">I am sure, although it is more than last time</label></p>
<button class="main">Write it down</button>
</form></details>
{{/set}}<details><summary>Move…</summary>
<form method="post" action="/do" class="fields">
{{>form_top}}<input type="hidden" name="batch" value="{{id}}"><input type="hidden" name="do" value="batch_move">
<label for="move-{{place}}">To the cabinet</label>
{{#places?}}<select id="move-{{place}}" name="move_to" required><option value="">Choose</option>
{{#places}}<option value="{{value}}">{{text}}</option>
{{/places}}</select>
{{/places?}}{{^places?}}<input id="move-{{place}}" name="move_to" required maxlength="64" autocapitalize="none">
{{/places?}}<button class="main">Move it</button>
</form></details>
<details><summary>End…</summary>
<form method="post" action="/do" class="fields">
{{>form_top}}<input type="hidden" name="batch" value="{{id}}"><input type="hidden" name="do" value="batch_end">
<p>What came of the eggs that were still in it, as far as you have counted.</p>
<div class="pair">
{{#outcomes}}<div><label for="end-{{place}}-{{word}}">{{text}}</label><input id="end-{{place}}-{{word}}" name="fate_{{word}}" inputmode="numeric" pattern="[0-9]*" maxlength="6"></div>
{{/outcomes}}</div>
<label for="end-{{place}}-note">A note</label>
<input id="end-{{place}}-note" name="note" maxlength="200">
<button class="main">End it now</button>
</form></details>
{{/running}}
<h3>A new one</h3>
<details><summary>Start a batch…</summary>
<form method="post" action="/do" class="fields">
{{>form_top}}<input type="hidden" name="cabinet" value="{{cabinet}}"><input type="hidden" name="do" value="batch_start">
<label for="new-id">A name for it, without blanks</label>
<input id="new-id" name="batch" required maxlength="64" autocapitalize="none">
<label for="new-profile">Species</label>
{{#profiles?}}<select id="new-profile" name="profile" required><option value="">Choose</option>
{{#profiles}}<option value="{{value}}">{{text}}</option>
{{/profiles}}</select>
{{/profiles?}}{{^profiles?}}<input id="new-profile" name="profile" required maxlength="64" autocapitalize="none">
{{/profiles?}}<div class="pair">
<div><label for="new-eggs">Eggs</label><input id="new-eggs" name="eggs" inputmode="numeric" pattern="[0-9]*" maxlength="6"></div>
<div><label for="new-stored">Days in store before</label><input id="new-stored" name="stored_days" inputmode="decimal" pattern="[0-9]+([.,][0-9]+)?" maxlength="6"></div>
</div>
<button class="main">Start it now</button>
</form></details>
</section>
)";

const std::string_view kDoorTemplate = R"(<main class="door">
<h1><bdi>{{title}}</bdi></h1>
{{{code}}}
<p>{{address}}</p>
<p class="note">{{site}}: what it is now, and what to do about it.</p>
</main>
)";

}  // namespace clutchward
