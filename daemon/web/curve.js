// Draws the cabinet's curve anew, to move a finger over: the same numbers as the picture that the
// server has drawn, which stays where this cannot. Needs uPlot; asks /api/history and posts nothing.
'use strict';
(() => {
  if (!window.uPlot) return;
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const plots = [];

  const columns = (data, steps) => {
    const found = new Map(steps.at.map((at, i) => [at, i])), out = [[], [], [], []];
    for (let at = data.from; at <= data.to; at += data.step) {
      const i = found.get(at);
      out[0].push(at + data.step / 2);
      out[1].push(i === undefined ? null : steps.min[i]);
      out[2].push(i === undefined ? null : steps.mean[i]);
      out[3].push(i === undefined ? null : steps.max[i]);
    }
    return out;
  };
  const turned = (data, change) => {
    const all = (list) => list.map((each) => each === null ? null : change(each));
    const heat = data.temperature;
    data.temperature = { at: heat.at, min: all(heat.min), mean: all(heat.mean), max: all(heat.max) };
    for (const band of data.bands.temperature) {
      band.low = change(band.low); band.high = change(band.high);
      if (band.target !== null) band.target = change(band.target);
    }
  };

  const options = (data, quantity, unit, zone, box) => {
    const heat = quantity === 'temperature', bands = data.bands[quantity];
    const life = data.batch !== null, day = 86400;
    const clock = new Intl.DateTimeFormat('en-GB',
      { timeZone: zone, hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
    const date = new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric', month: 'short' });
    const when = (at) => {
      if (at === null || at === undefined) return '';
      const time = clock.format(at * 1000);
      return life ? `day ${Math.floor((at - data.from) / day)}, ${date.format(at * 1000)} ${time}` : time;
    };
    const figure = (value) => value === null || value === undefined ? '' : `${value.toFixed(heat ? 1 : 0)} ${unit}`;
    const splits = (plot, axis, from, to) => {
      const out = [];
      if (life) {
        const days = (to - from) / day, step = days > 20 ? 5 : days > 8 ? 2 : days > 2 ? 1 : 0.25;
        for (let at = data.from; at <= to; at += step * day) if (at >= from) out.push(at);
        return out;
      }
      const hours = (to - from) / 3600, step = hours > 13 ? 6 : hours > 4 ? 2 : 1;
      for (let at = Math.ceil(from / 3600) * 3600; at <= to; at += 3600)
        if (Number(clock.format(at * 1000).slice(0, 2)) % step === 0) out.push(at);
      return out;
    };
    const ground = (plot) => {
      const { ctx } = plot, right = plot.bbox.left + plot.bbox.width;
      ctx.save();
      for (const band of bands) {
        const x = Math.max(plot.bbox.left, plot.valToPos(band.from, 'x', true));
        const to = Math.min(right, plot.valToPos(band.to, 'x', true));
        const y = plot.valToPos(band.high, 'y', true), low = plot.valToPos(band.low, 'y', true);
        if (to <= x) continue;
        ctx.fillStyle = colour('--band');
        ctx.fillRect(x, y, to - x, low - y);
        if (band.target === null) continue;
        const at = plot.valToPos(band.target, 'y', true);
        ctx.strokeStyle = colour('--calm'); ctx.setLineDash([6, 6]);
        ctx.beginPath(); ctx.moveTo(x, at); ctx.lineTo(to, at); ctx.stroke();
      }
      ctx.restore();
    };
    const marks = (plot) => {
      const { ctx } = plot, top = plot.bbox.top, px = devicePixelRatio;
      const right = plot.bbox.left + plot.bbox.width;
      ctx.save();
      for (const alarm of data.alarms) {
        if ((alarm.quantity === 'humidity') === heat) continue;
        const x = Math.max(plot.bbox.left, plot.valToPos(alarm.from, 'x', true));
        const to = Math.min(right, plot.valToPos(alarm.to ?? data.to, 'x', true));
        if (to < x) continue;
        ctx.fillStyle = colour(alarm.priority === 'high' ? '--wrong' : '--held');
        ctx.beginPath(); ctx.moveTo(x - 5 * px, top); ctx.lineTo(x + 5 * px, top); ctx.lineTo(x, top + 9 * px); ctx.fill();
        ctx.fillRect(x, top + 9 * px, Math.max(px, to - x), 3 * px);
      }
      ctx.restore();
    };
    let low = Infinity, high = -Infinity;
    for (const each of [...data[quantity].min, ...data[quantity].max, ...bands.flatMap((band) => [band.low, band.high])]) {
      low = Math.min(low, each); high = Math.max(high, each);
    }
    const room = Math.max((high - low) * 0.06, heat ? 0.15 : 1);
    const soft = colour('--soft'), grid = { stroke: colour('--line'), width: 1 };
    const series = (label, width) => ({ label, width, stroke: colour('--curve'), points: { show: false }, value: (plot, value) => figure(value) });
    return {
      width: box.clientWidth, height: heat ? 230 : 140, padding: [8, 22, 0, 0],
      cursor: { sync: { key: 'curve' }, drag: { x: true, y: false }, points: { show: false } },
      scales: { x: { time: false, range: (plot, from, to) => [from, to] }, y: { range: () => [low - room, high + room] } },
      axes: [
        { stroke: soft, grid, ticks: grid, splits, values: (plot, all) => all.map((at) => life ? `day ${Math.round((at - data.from) / day * 100) / 100}` : clock.format(at * 1000)) },
        { stroke: soft, grid, ticks: grid, size: 44, values: (plot, all) => all.map((value) => `${Math.round(value * 10) / 10}`) },
      ],
      series: [{ label: 'At', value: (plot, at) => when(at) }, series('Lowest', 0), series('Mean', 2), series('Highest', 0)],
      bands: [{ series: [3, 1], fill: colour('--ribbon') }],
      // Without a finger on the curve its figures are empty.
      hooks: { drawClear: [ground], draw: [marks], setCursor: [(plot) => plot.root.classList.toggle('pointed', (plot.cursor.idx ?? null) !== null)] },
    };
  };

  const draw = async () => {
    const section = document.getElementById('curve');
    if (!section || section.dataset.drawn || !section.querySelector('.plot')) return;
    section.dataset.drawn = 'asked';
    let data;
    try {
      const answer = await fetch('/api/history?' + section.dataset.query, { cache: 'no-store' });
      if (!answer.ok) return;
      data = await answer.json();
    } catch { return; }
    if (!section.isConnected) return;
    const fahrenheit = section.dataset.unit === 'fahrenheit';
    if (fahrenheit) turned(data, (value) => value * 1.8 + 32);
    let zone = section.dataset.zone;
    try { new Intl.DateTimeFormat('en', { timeZone: zone }); } catch { zone = 'UTC'; }
    for (const plot of plots.splice(0)) plot.destroy();
    for (const box of section.querySelectorAll('.plot')) {
      const quantity = box.dataset.quantity;
      if (data[quantity].at.length === 0) continue;
      const live = document.createElement('div'), picture = box.querySelector('svg');
      live.setAttribute('role', 'img');
      live.setAttribute('aria-label', picture.getAttribute('aria-label'));
      box.append(live);
      const unit = quantity === 'humidity' ? '%' : fahrenheit ? '°F' : '°C';
      plots.push(new uPlot(options(data, quantity, unit, zone, box), columns(data, data[quantity]), live));
      box.classList.add('drawn');
    }
    section.dataset.drawn = 'yes';
  };
  const again = () => {
    const section = document.getElementById('curve');
    if (!section || section.dataset.drawn !== 'yes') return;
    for (const box of section.querySelectorAll('.plot.drawn')) { box.lastElementChild.remove(); box.classList.remove('drawn'); }
    delete section.dataset.drawn;
    draw();
  };
  addEventListener('resize', () => {
    for (const plot of plots) plot.setSize({ width: plot.root.parentElement.clientWidth, height: plot.height });
  });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', again);
  document.addEventListener('renewed', draw);
  draw();
})();
