// The words and the order of the front page: what a person sees first stands first. No logic beyond
// "if there is one".
#include "web/page.h"

namespace clutchward {

const std::string_view kAlarmPartial =
    R"(<div class="alarm"><p><strong>{{what}}</strong> {{figures}}</p>
<p>{{since}}</p>
{{#who}}<p class="who">{{who}}</p>
{{/who}}{{#told}}<p class="note">{{told}}</p>
{{/told}}</div>
)";

// One form a card: every press carries the alarms that the card shows, and its cabinet and way back
// stand in the address. The lengths of a snooze wait behind their own button.
const std::string_view kDeedsPartial =
    R"({{#deeds?}}<form class="deeds" method="post" action="{{action}}"><input type="hidden" name="token" value="{{form_token}}">{{#covers}}<input type="hidden" name="of" value="{{covers}}">{{/covers}}
{{#acknowledge}}<button class="main" name="do" value="acknowledge">Acknowledge</button>
<p class="going">{{going}}</p>
{{/acknowledge}}{{#reset}}<button class="main" name="do" value="reset">Reset</button>
{{/reset}}{{#snooze}}<button name="do" value="snooze">Snooze 30 min</button>
{{/snooze}}{{#pass_on}}<button name="do" value="pass_on">Pass on</button>
{{/pass_on}}{{#unsnooze}}<button name="do" value="unsnooze">End the snooze</button>
{{/unsnooze}}{{#snooze}}<details><summary>Snooze…</summary><div>
<button name="minutes" value="10">10 min</button>
<button name="minutes" value="20">20 min</button>
<button name="minutes" value="45">45 min</button>
<button name="minutes" value="60">1 h</button>
<button name="minutes" value="120">2 h</button>
</div></details>
{{/snooze}}{{#cabinet}}{{^attending}}<button class="slight" name="do" value="attend">I am at the cabinet</button>
{{/attending}}{{#attending}}<button class="slight" name="do" value="attended">I have left the cabinet</button>
{{/attending}}{{#turns}}<button class="slight" name="do" value="turned">I have turned the eggs</button>
{{/turns}}{{/cabinet}}</form>
{{/deeds?}})";

const std::string_view kCardPartial = R"(<article class="card {{tone}}" id="c-{{id}}">
<div class="top"><h2><a href="{{link}}"><bdi>{{name}}</bdi></a></h2><p class="now">{{value}}{{#trend}} <span class="trend">{{trend}}</span>{{/trend}}</p></div>
<p class="mark"><span aria-hidden="true">{{shape}}</span> {{mark}}</p>
{{#alarms}}{{>alarm}}{{/alarms}}
{{#notes}}
<p class="note">{{text}}</p>
{{/notes}}
{{>deeds}}
{{#batches}}
<p class="batch"><bdi>{{id}}</bdi>: {{text}}</p>
{{/batches}}
<p class="age">{{age}}</p>
</article>
)";

const std::string_view kComingPartial = R"({{#next?}}<section id="part-next" aria-labelledby="next">
<h2 id="next">What comes next</h2>
<ul>
{{#next}}
<li><b>{{at}}</b> <bdi>{{name}}</bdi>: {{text}}</li>
{{/next}}
</ul>
</section>
{{/next?}})";

const std::string_view kHappenedPartial = R"(<section id="part-happened" aria-labelledby="happened">
<h2 id="happened">{{happened_title}}</h2>
{{#happened_note}}<p class="note">{{happened_note}}</p>
{{/happened_note}}{{#lately?}}<ul>
{{#lately}}
<li><b>{{at}}</b> {{#name}}<bdi>{{name}}</bdi>: {{/name}}{{text}}</li>
{{/lately}}
</ul>
{{/lately?}}<p class="inner"><a href="{{happened_all}}">All that happened</a></p>
</section>
)";

const std::string_view kPageTemplate = R"(<header class="{{tone}}">
<h1><span aria-hidden="true">{{shape}}</span> {{headline}}</h1>
<p>As of <span id="now">{{now}}</span>. {{newest}} {{broker}} {{out}}</p>
<noscript><p>Without script this page renews itself once a minute.</p></noscript>
</header>
<main>
{{#doubts?}}
<section id="part-doubts" class="doubts" aria-labelledby="doubts">
<h2 id="doubts">This page may be missing something</h2>
<ul>
{{#doubts}}
<li>{{text}}</li>
{{/doubts}}
</ul>
</section>
{{/doubts?}}
{{#cannot}}<p class="note">{{cannot}}</p>
{{/cannot}}
{{#site_cards}}
<article class="card wrong" id="watch-itself">
<h2>The watch itself</h2>
{{#alarms}}{{>alarm}}{{/alarms}}
{{>deeds}}
</article>
{{/site_cards}}
<div id="cards">
{{#cabinets}}{{>card}}{{/cabinets}}
</div>
{{#pages?}}<nav class="pages" aria-label="More cabinets">
<ul>
{{#before}}<li><a href="{{before}}">Worse ones</a></li>
{{/before}}<li>{{more}}</li>
{{#after}}<li><a href="{{after}}">The next ones</a></li>
{{/after}}</ul>
</nav>
{{/pages?}}
<section id="part-messages" aria-labelledby="messages">
<h2 id="messages">Messages, and the watch</h2>
<dl>
{{#facts}}
<div><dt>{{what}}</dt><dd>{{text}}</dd></div>
{{/facts}}
</dl>
</section>
{{#unwatched?}}
<section id="part-unwatched" aria-labelledby="unwatched">
<h2 id="unwatched">Left alone on purpose</h2>
<ul>
{{#unwatched}}
<li><b><bdi>{{name}}</bdi></b>: {{text}}</li>
{{/unwatched}}
</ul>
</section>
{{/unwatched?}}
{{>coming}}{{>happened}}<p class="inner"><a href="/wakes">What wakes whom</a></p>
<p class="note">This page renews itself. If the time at its top stands still, do not trust it.</p>
</main>
)";

}  // namespace clutchward
