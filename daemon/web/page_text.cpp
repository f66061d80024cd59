// The words, the order and the looks of the status page: what a person sees first stands first. No
// logic beyond "if there is one".
#include "web/page.h"

namespace clutchward {

const std::string_view kPageTemplate = R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta http-equiv="refresh" content="15">
<title>{{headline}} - {{site}}</title>
<link rel="stylesheet" href="/style.css">
</head>
<body>
<header class="{{tone}}">
<h1>{{headline}}</h1>
<p>{{site}}, {{now}}. {{newest}}</p>
</header>
<main>
{{#doubts?}}
<section class="doubts" aria-label="Can this be trusted">
<h2>This page may be missing something</h2>
<ul>
{{#doubts}}
<li>{{text}}</li>
{{/doubts}}
</ul>
</section>
{{/doubts?}}
{{#site_alarms?}}
<article class="card wrong">
<h2>The watch itself</h2>
{{#site_alarms}}{{>alarm}}{{/site_alarms}}
</article>
{{/site_alarms?}}
{{#cabinets}}
<article class="card {{tone}}">
<div class="top"><h2><bdi>{{name}}</bdi></h2><p class="now">{{value}}{{#trend}} <span class="trend">{{trend}}</span>{{/trend}}</p></div>
<p class="mark">{{mark}}</p>
{{#alarms}}{{>alarm}}{{/alarms}}
{{#notes}}
<p class="note">{{text}}</p>
{{/notes}}
{{#batches}}
<p class="batch"><bdi>{{id}}</bdi>: {{text}}</p>
{{/batches}}
<p class="age">{{age}}</p>
</article>
{{/cabinets}}
{{#more}}
<p class="more">{{more}}</p>
{{/more}}
</main>
<footer>
<h2>The watch</h2>
<dl>
{{#facts}}
<div><dt>{{what}}</dt><dd>{{text}}</dd></div>
{{/facts}}
</dl>
<p>This page renews itself every 15 seconds. If the time at its top stands still, do not trust it.</p>
</footer>
</body>
</html>
)";

// Paper, ink and the colours of an egg basket; every state has a word and the width of its bar
// beside its colour. Contrast of text on its ground is at least 4.5:1 in both schemes.
const std::string_view kPageStyle = R"(:root {
  color-scheme: light dark;
  --ground: #f4f1ea; --card: #fffdf8; --ink: #23272b; --soft: #59605f; --line: #ddd6c8;
  --wrong: #a3261b; --wrong-ground: #fbe4df; --held: #7a4f00; --look: #5a4a86; --calm: #2f6650;
}
@media (prefers-color-scheme: dark) {
  :root {
    --ground: #16191b; --card: #1f2427; --ink: #ece8df; --soft: #a5aca8; --line: #363d40;
    --wrong: #ff9d8d; --wrong-ground: #47201c; --held: #e8b45c; --look: #bfb0ec; --calm: #8ccbb0;
  }
}
* { box-sizing: border-box; }
body {
  margin: 0 auto; max-width: 44rem; padding: 0 0.75rem 2rem; background: var(--ground);
  color: var(--ink); font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: anywhere;
}
h1, h2, p, ul, dl, dd { margin: 0; }
h1 { font-size: 1.6rem; line-height: 1.2; }
h2 { font-size: 1.15rem; line-height: 1.3; }
header { padding: 1.1rem 0.25rem 0.9rem; }
header p { color: var(--soft); margin-top: 0.3rem; }
header.wrong h1 { color: var(--wrong); }
header.held h1 { color: var(--held); }
header.look h1, header.quiet h1 { color: var(--look); }
header.fine h1 { color: var(--calm); }
.doubts {
  border: 2px solid var(--wrong); border-radius: 0.5rem; background: var(--wrong-ground);
  padding: 0.7rem 0.9rem; margin-bottom: 0.75rem;
}
.doubts ul { padding-left: 1.2rem; margin-top: 0.3rem; }
.card {
  background: var(--card); border: 1px solid var(--line); border-left: 0.3rem solid var(--line);
  border-radius: 0.5rem; padding: 0.7rem 0.9rem; margin-bottom: 0.75rem;
}
.card.wrong { border-left: 0.8rem solid var(--wrong); }
.card.held { border-left: 0.6rem solid var(--held); }
.card.look { border-left: 0.45rem solid var(--look); }
.card.quiet { border-left: 0.3rem dashed var(--look); }
.card.fine { border-left: 0.3rem solid var(--calm); }
.top { display: flex; flex-wrap: wrap; gap: 0 1rem; justify-content: space-between; align-items: baseline; }
.now { font-size: 1.3rem; font-weight: 600; font-variant-numeric: tabular-nums; }
.trend { font-size: 1rem; font-weight: 400; }
.mark { font-weight: 600; }
.wrong .mark { color: var(--wrong); }
.held .mark { color: var(--held); }
.look .mark, .quiet .mark { color: var(--look); }
.fine .mark { color: var(--calm); }
.alarm { border-top: 1px solid var(--line); margin-top: 0.5rem; padding-top: 0.5rem; }
.alarm strong { font-size: 1.05rem; }
.who { font-weight: 600; }
.batch, .age, .note, .more, footer p { color: var(--soft); }
.batch { margin-top: 0.5rem; }
.batch + .batch { margin-top: 0; }
.more { padding: 0.25rem; }
footer { border-top: 1px solid var(--line); margin-top: 1.25rem; padding: 0.9rem 0.25rem 0; }
dl { margin: 0.4rem 0 0.8rem; }
dl div { display: flex; flex-wrap: wrap; gap: 0 0.75rem; padding: 0.15rem 0; }
dt { color: var(--soft); flex: 0 0 9rem; }
dd { flex: 1 1 12rem; }
)";

}  // namespace clutchward
