// The looks of all pages, their icon and the one script.
#include "web/page.h"

namespace clutchward {

// Paper, ink and the colours of an egg basket; every state has a word, a shape and the width of its
// bar beside its colour. Contrast of text on its ground is at least 4.5:1 in both schemes; what is
// pressed is at least 44 px high (WCAG 2.2, 1.4.3 and 2.5.5, from memory).
const std::string_view kPageStyle = R"(:root {
  color-scheme: light dark;
  --ground: #f4f1ea; --card: #fffdf8; --ink: #23272b; --soft: #565d5c; --line: #ddd6c8; --edge: #807a6c;
  --wrong: #a3261b; --wrong-ground: #fbe4df; --held: #7a4f00; --look: #5a4a86; --calm: #2f6650;
  --press: #2b3a34; --press-ink: #ffffff; --curve: #23272b; --ribbon: #23272b38; --band: #2f66502e;
}
@media (prefers-color-scheme: dark) {
  :root {
    --ground: #16191b; --card: #1f2427; --ink: #ece8df; --soft: #a9b0ac; --line: #363d40; --edge: #7d8682;
    --wrong: #ff9d8d; --wrong-ground: #47201c; --held: #e8b45c; --look: #bfb0ec; --calm: #8ccbb0;
    --press: #dfe8e1; --press-ink: #17211c; --curve: #ece8df; --ribbon: #ece8df3d; --band: #8ccbb02e;
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
a { color: inherit; }
header { padding: 1.1rem 0.25rem 0.9rem; }
header p { color: var(--soft); margin-top: 0.3rem; }
header.wrong h1 { color: var(--wrong); }
header.held h1 { color: var(--held); }
header.look h1, header.quiet h1 { color: var(--look); }
header.fine h1 { color: var(--calm); }
main > h1 { padding: 1.1rem 0.25rem 0.6rem; }
main > p { padding: 0.25rem; }
main > section { padding: 0.9rem 0.25rem 0.2rem; }
section ul { padding-left: 1.2rem; }
.doubts, .stale {
  border: 2px solid var(--wrong); border-radius: 0.5rem; background: var(--wrong-ground);
  padding: 0.7rem 0.9rem !important; margin: 0 0 0.75rem;
}
.done {
  border: 2px solid var(--calm); border-radius: 0.5rem; background: var(--card);
  padding: 0.7rem 0.9rem !important; margin: 0 0 0.75rem; font-weight: 600;
}
.stale { margin-top: 0.75rem; font-weight: 600; }
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
.top h2 a { display: inline-flex; align-items: center; min-height: 44px; text-underline-offset: 0.2em; }
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
.batch, .age, .note, .more, .going { color: var(--soft); }
.batch { margin-top: 0.5rem; }
.batch + .batch { margin-top: 0; }
.deeds { margin: 0.7rem 0 0.9rem; }
.deeds, .deeds div { display: flex; flex-wrap: wrap; gap: 0.5rem; }
.deeds details { flex: 1 1 100%; }
.deeds summary { margin: 0; }
.deeds div { margin-top: 0.5rem; }
.going { flex: 1 1 100%; margin-top: -0.25rem; }
button, .button, summary {
  font: inherit; font-weight: 600; min-height: 48px; padding: 0.5rem 1rem; border-radius: 0.5rem;
  border: 2px solid var(--edge); background: transparent; color: var(--ink); cursor: pointer;
}
button { flex: 1 1 9rem; }
.main { background: var(--press); color: var(--press-ink); border-color: var(--press); flex-basis: 100%; }
.slight { border-style: dashed; }
.button { display: inline-flex; align-items: center; text-decoration: none; }
summary { display: inline-flex; align-items: center; list-style: none; margin-bottom: 0.5rem; }
summary::-webkit-details-marker { display: none; }
:focus-visible { outline: 3px solid var(--look); outline-offset: 2px; }
.fields { display: flex; flex-direction: column; gap: 0.4rem; max-width: 26rem; padding: 0.25rem; }
.fields label { font-weight: 600; }
.fields input:not([type=checkbox]), select {
  font: inherit; min-height: 48px; padding: 0.4rem 0.7rem; border: 2px solid var(--edge);
  border-radius: 0.5rem; background: var(--card); color: var(--ink); width: 100%;
}
.fields button { flex: none; margin-top: 0.6rem; }
.tick { display: flex; align-items: center; gap: 0.6rem; min-height: 48px; }
.tick input { width: 28px; height: 28px; flex: none; }
.tick label { font-weight: 400; padding: 0.6rem 0; }
.said { font-size: 1.15rem; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; color: var(--soft); padding-bottom: 0.3rem; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 0.6rem 0.35rem 0; border-top: 1px solid var(--line); }
th, td { overflow-wrap: break-word; }
th .whole { white-space: nowrap; }
nav { border-top: 1px solid var(--line); margin-top: 1.25rem; padding: 0.6rem 0.25rem 0; }
nav ul { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: 0.25rem 1.5rem; align-items: center; }
nav a, .inner a { display: inline-flex; align-items: center; min-height: 44px; }
nav form { display: inline-flex; margin-left: 0.6rem; }
nav button { min-height: 44px; font-weight: 400; padding: 0.2rem 0.8rem; }
dl { margin: 0.4rem 0 0.8rem; }
dl div { display: flex; flex-wrap: wrap; gap: 0 0.75rem; padding: 0.15rem 0; }
dt { color: var(--soft); flex: 0 0 9rem; }
dd { flex: 1 1 12rem; }
.plot { margin: 0.6rem 0 0.3rem; }
.plot.drawn > svg { display: none; }
svg.curve { display: block; width: 100%; height: auto; font-size: 10px; }
.curve text { fill: var(--soft); font-variant-numeric: tabular-nums; }
.curve .grid { stroke: var(--line); stroke-width: 0.6; }
.curve .band { fill: var(--band); }
.curve .wanted { stroke: var(--calm); stroke-width: 1; stroke-dasharray: 4 4; fill: none; }
.curve .range { fill: var(--ribbon); stroke: var(--ribbon); stroke-width: 0.5; }
.curve .mean { stroke: var(--curve); stroke-width: 1.3; fill: none; stroke-linejoin: round; }
.curve .alarm { fill: var(--held); }
.curve .alarm.high { fill: var(--wrong); }
.plot .u-legend { text-align: left; color: var(--soft); font-variant-numeric: tabular-nums; margin: 0; }
.plot .uplot:not(.pointed) .u-legend { visibility: hidden; }
.plot .u-legend .u-marker { display: none; }
.choices { list-style: none; padding: 0 !important; display: flex; flex-wrap: wrap; gap: 0 1.25rem; }
.choices a { display: inline-flex; align-items: center; min-height: 44px; }
.choices a[aria-current] { font-weight: 600; text-decoration: none; border-bottom: 3px solid var(--calm); }
.list { list-style: none; padding: 0 !important; }
.list li { border-top: 1px solid var(--line); padding: 0.2rem 0 0.5rem; }
.list a.more { font-weight: 400; }
.wide { overflow-x: auto; }
.wide th a { display: inline-flex; align-items: center; min-height: 44px; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.list a { display: flex; align-items: center; min-height: 44px; font-weight: 600; }
h3 { margin: 0.9rem 0 0.2rem; font-size: 1rem; }
code { font-size: 0.9rem; overflow-wrap: anywhere; }
.figures td, .figures th { font-variant-numeric: tabular-nums; padding-right: 0.3rem; }
.pair { display: grid; grid-template-columns: 1fr 1fr; gap: 0.4rem 0.75rem; }
.pair > div { display: flex; flex-direction: column; justify-content: flex-end; gap: 0.2rem; }
.from, .stands { color: var(--soft); }
.from, .rings { display: block; }
.door { text-align: center; padding-top: 2rem; }
.door svg { width: min(70vw, 12cm); height: auto; background: #ffffff; }
.door h1 { font-size: 2.4rem; }
@media print {
  nav, .noprint { display: none; }
  body { background: #ffffff; color: #000000; }
}
)";

const std::string_view kPageIcon =
    R"(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><path d="M16 2c6 0 11 9 11 17a11 11 0 0 1-22 0c0-8 5-17 11-17z" fill="#d9b98a" stroke="#5b4a2f" stroke-width="2"/></svg>)";

// Adds only: hears that something has changed and puts the new page in place of the old, card by
// card and in the order that stands, so that nothing moves under a thumb; says so when it hears
// nothing any more. Posts nothing.
const std::string_view kPageScript = R"JS('use strict';
(() => {
  const STALE_MS = 25000, QUIET_MS = 8000;
  let heard = Date.now(), touched = 0, asked = 0, took = 0, timer = 0, working = false;
  // An event is shown at once; where the page comes slowly, many of them are asked for more seldom.
  const least = () => Math.min(5000, Math.max(100, 10 * took));
  const stale = document.getElementById('stale');
  const touch = () => { touched = Date.now(); };
  for (const kind of ['pointerdown', 'keydown', 'scroll']) addEventListener(kind, touch, { passive: true });

  // By what it belongs to and says: cards change their order.
  const folded = (part) => {
    const all = new Map();
    for (const each of part.querySelectorAll('details')) {
      let name = (each.closest('[id]')?.id ?? '') + each.querySelector('summary').textContent;
      while (all.has(name)) name += '+';
      all.set(name, each);
    }
    return all;
  };
  const keepOpen = (from, to) => {
    const now = folded(to);
    for (const [name, each] of folded(from)) if (now.has(name)) now.get(name).open = each.open;
  };
  const swap = (old, fresh) => {
    if (!old || !fresh || old.outerHTML === fresh.outerHTML) return;
    if (old.contains(document.activeElement) && old.querySelector('form') &&
        Date.now() - touched < QUIET_MS) return;
    keepOpen(old, fresh);
    // A copy: the page that was fetched stays whole for whoever looks through it afterwards.
    old.replaceWith(document.importNode(fresh, true));
  };
  const busy = (part, fresh) => part.dataset.until ? part.dataset.until === fresh.dataset.until
    : part.outerHTML === fresh.outerHTML || [...part.querySelectorAll('details[open]')].some((each) => each.querySelector('form.fields'));
  const swapCards = (old, fresh) => {
    if (!old || !fresh) return;
    const ids = [...fresh.children].map((each) => each.id).join('\n');
    const same = ids === [...old.children].map((each) => each.id).join('\n');
    if (!same && Date.now() - touched > QUIET_MS) return swap(old, fresh);
    const by = new Map([...fresh.children].map((each) => [each.id, each]));
    for (const card of [...old.children]) swap(card, by.get(card.id));
    if (!same) later(QUIET_MS);
  };
  const show = (text) => {
    const fresh = new DOMParser().parseFromString(text, 'text/html');
    document.title = fresh.title;
    swap(document.querySelector('header'), fresh.querySelector('header'));
    const old = document.querySelector('main'), main = fresh.querySelector('main');
    const cards = old.querySelector('#cards'), next = main.querySelector('#cards');
    if (!cards || !next) return swap(old, main);
    swapCards(cards, next);
    // Part by part, each where it stands: moved, it would lose the focus. What a person is in the middle
    // of stays as it is: a form that is open, a curve that is the same.
    const parts = new Map([...old.children].filter((each) => each.id).map((each) => [each.id, each]));
    for (const each of [...old.childNodes])
      if (!each.id || ![...main.children].some((one) => one.id === each.id)) each.remove();
    let last = null;
    for (const fresh of [...main.childNodes]) {
      let stands = fresh.id ? parts.get(fresh.id) : undefined;
      if (!stands) {
        stands = document.adoptNode(fresh);
        if (last) last.after(stands); else old.prepend(stands);
      } else if (stands.id !== 'cards' && !busy(stands, fresh)) {
        keepOpen(stands, fresh);
        const old = stands;
        stands = document.adoptNode(fresh);
        old.replaceWith(stands);
      }
      last = stands;
    }
    document.dispatchEvent(new Event('renewed'));
  };
  const renew = async () => {
    timer = 0;
    if (working) return later(least());
    working = true; asked = Date.now();
    try {
      const answer = await fetch(location.href, { headers: { Accept: 'text/html' }, cache: 'no-store' });
      if (answer.redirected) return location.assign(answer.url);
      const text = await answer.text();
      took = Date.now() - asked;
      if (answer.ok) show(text);
    } catch { /* the sign of life tells */ } finally { working = false; }
  };
  const later = (wait) => { if (!timer) timer = setTimeout(renew, wait); };
  const alive = () => { heard = Date.now(); stale.hidden = true; };

  let source = null;
  const listen = () => {
    source = new EventSource('/events');
    source.addEventListener('change', () => { alive(); later(Math.max(0, asked + least() - Date.now())); });
    source.addEventListener('beat', () => { alive(); if (Date.now() - asked > 9000) later(0); });
  };
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) { source.close(); source = null; } else if (!source) { heard = Date.now(); listen(); later(0); }
  });
  setInterval(() => {
    if (document.hidden) return;
    if (Date.now() - heard > STALE_MS) stale.hidden = false;
    if (source && source.readyState === EventSource.CLOSED) { source.close(); listen(); }
  }, 2000);
  listen();
})();
)JS";

}  // namespace clutchward
