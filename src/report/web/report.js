// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the still charts of the page ones that can be looked into. Without it
// the page says the same.
(() => {
  'use strict';
  const kHeight = 300;
  const charts = JSON.parse(document.getElementById('charts').textContent);
  const colour = (name) =>
    getComputedStyle(document.documentElement).getPropertyValue('--' + name);
  const node = (tag, of, text) => {
    const made = document.createElement(tag);
    if (of) made.className = of;
    if (text) made.textContent = text;
    return made;
  };

  const powers = {'-': '\u207B', 0: '\u2070', 1: '\u00B9', 2: '\u00B2',
    3: '\u00B3', 4: '\u2074', 5: '\u2075', 6: '\u2076', 7: '\u2077',
    8: '\u2078', 9: '\u2079'};
  const power = (value) => {
    const exponent = Math.log10(value);
    if (Math.abs(exponent - Math.round(exponent)) > 1e-6) return '';
    return '10' + [...String(Math.round(exponent))].map((c) => powers[c])
        .join('');
  };
  // Thousands apart by a narrow blank, as the text of the page has them; a
  // minus is none to break at.
  const grouped = (number) => {
    const text = number.replace('-', '\u2212');
    const [whole, rest] = text.split('.');
    if (whole.replace('\u2212', '').length < 5) return text;
    return whole.replace(/\B(?=(\d{3})+$)/g, '\u202F') +
      (rest === undefined ? '' : '.' + rest);
  };
  const raised = (value, digits) => {
    const [number, exponent] = value.toExponential(digits).split('e');
    return number.replace('-', '\u2212') + '\u00B710' +
      [...String(Number(exponent))].map((c) => powers[c]).join('');
  };
  const isInFull = (size) => size === 0 || size >= 1e-3 && size < 1e7;
  // Of a tick, which is a round number.
  const figure = (value) => {
    if (value === null || value === undefined) return '\u2013';
    return isInFull(Math.abs(value)) ?
      grouped(String(Number(value.toPrecision(6)))) :
      raised(value, 3).replace(/\.?0+\u00B7/, '\u00B7');
  };
  // To the last place that means something, as the tables below have it.
  const rounded = (value, to) => {
    if (value === null || value === undefined) return '\u2013';
    const size = Math.abs(value);
    if (isInFull(size)) {
      const step = 10 ** Math.max(to, 0);
      const text = (Math.round(value / step) * step).toFixed(0);
      const number = to < 0 ? value.toFixed(Math.min(-to, 20)) : text;
      return grouped(/[1-9]/.test(number) ? number : number.replace('-', ''));
    }
    return raised(value,
        Math.min(Math.max(Math.floor(Math.log10(size)) - to, 0), 15));
  };
  // What an axis is in: the end of its label.
  const unitOf = (axis) => {
    const at = axis.label.lastIndexOf(' / ');
    return at < 0 ? '' :
      '\u00A0' + axis.label.slice(at + 3).replace(/[()]/g, '');
  };
  const place = (chart, x, to) =>
    chart.x.scale === 'date' ?
      new Date(x * 1000).toISOString().slice(0, 16).replace('T', ' ') +
        ' UTC' :
      rounded(x, to) + unitOf(chart.x);

  // As many decimals as tell neighbouring ticks apart, and no tick rounded.
  const decimalsOf = (step) => {
    for (let d = 0; d < 15; ++d) {
      const scaled = step * 10 ** d;
      if (Math.abs(scaled - Math.round(scaled)) < 1e-6 * scaled) return d;
    }
    return 15;
  };
  const linearTicks = (u, splits, axis, space, step) => {
    const largest = Math.max(...splits.map(Math.abs));
    if (largest >= 1e7 || step < 1e-6) return splits.map(figure);
    return splits.map((v) => grouped(v.toFixed(decimalsOf(step))));
  };
  // Powers of ten; where fewer than two are in view, what lies between, too.
  const powerTicks = (u, splits, axis) => {
    const {min, max} = u.scales[u.axes[axis].scale];
    const within = splits.filter((v) => v >= min && v <= max && power(v));
    if (within.length > 1) return splits.map((v) => v ? power(v) : '');
    return splits.map((v) => {
      if (!v) return '';
      const whole = Math.floor(Math.log10(v) + 1e-9);
      const digit = Math.round(v / 10 ** whole);
      if (digit === 1) return power(10 ** whole);
      return digit === 2 || digit === 5 ?
        digit + '\u00B7' + power(10 ** whole) : '';
    });
  };

  // Every series by its own x; a band and bars are a lower and an upper line.
  const tables = (chart) => chart.series.map((s) => {
    // In order, and no two at one place: the library keeps one of such only.
    const order = s.x.map((_, i) => i).sort((a, b) => s.x[a] - s.x[b]);
    const of = (values) => order.map((i) => values[i]);
    const x = of(s.x);
    const apart = Math.max(Math.abs(x[x.length - 1] - x[0]),
        Math.abs(x[0]) * 1e-6, 1e-12) * 1e-7;
    for (let i = 1; i < x.length; ++i) x[i] = Math.max(x[i], x[i - 1] + apart);
    // Where it is read out: to which place there.
    const at = (places, i) => Array.isArray(places) ? places[order[i]] : places;
    s.placesAt = new Map(x.map((v, i) =>
      [v, {x: at(s.x_places, i), y: at(s.places, i)}]));
    const rows = [x];
    if (s.y.length) rows.push(of(s.y));
    if (s.low.length) rows.push(of(s.low), of(s.high));
    return rows;
  });

  // What each column of the joined table is.
  const columns = (chart) => {
    const list = [];
    for (const s of chart.series) {
      if (s.y.length) list.push({of: s, is: 'y'});
      if (s.low.length) list.push({of: s, is: 'low'}, {of: s, is: 'high'});
    }
    return list;
  };

  const lineOf = (column) => {
    const {of: s, is} = column;
    const isPoints = s.drawn === 'points' || s.drawn === 'squares';
    const second = s.drawn === 'dashed' || s.drawn === 'squares';
    const stroke = () => colour(second ? 'second' : 'first');
    // A band is drawn by itself, below.
    if ((isPoints || s.drawn === 'band') && is !== 'y') {
      return {show: true, stroke, width: 0, points: {show: false}};
    }
    if (s.drawn === 'box') return {stroke: () => colour('second'), width: 1.4,
      dash: [6, 4], spanGaps: false, points: {show: false}};
    const line = {stroke, width: isPoints ? 0 : 1.4, spanGaps: false,
      points: {show: isPoints || drawLone(stroke), size: 7, fill: stroke,
        width: 0}};
    if (s.drawn === 'dashed') line.dash = [8, 5];
    if (s.drawn === 'guess') line.dash = [2, 5];
    if (s.drawn === 'steps') line.paths = uPlot.paths.stepped({align: 1});
    if (s.drawn === 'squares') line.points.show = drawSquares(stroke);
    return line;
  };

  const within = (u, draw) => {
    const {left, top, width, height} = u.bbox;
    u.ctx.save();
    u.ctx.beginPath();
    u.ctx.rect(left, top, width, height);
    u.ctx.clip();
    draw(u.bbox);
    u.ctx.restore();
  };

  // Of one column, where it has values: what the library does not draw.
  const drawMarks = (u, column, stroke, mark) => {
    within(u, () => {
      u.ctx.fillStyle = stroke();
      u.data[column].forEach((y, i) => {
        if (y === null || y === undefined || !Number.isFinite(y)) return;
        mark(u.valToPos(u.data[0][i], 'x', true), u.valToPos(y, 'y', true), i);
      });
    });
    return false;
  };

  const drawSquares = (stroke) => (u, column) => {
    const half = 4 * devicePixelRatio;
    return drawMarks(u, column, stroke, (x, y) =>
      u.ctx.fillRect(x - half, y - half, 2 * half, 2 * half));
  };

  // A line of one point has no length: a dot. Neighbours are of its own
  // series; what others have in between is undefined here.
  const drawLone = (stroke) => (u, column) => {
    const own = u.data[column].map((y, i) => [y, i])
        .filter(([y]) => y !== undefined);
    const lone = new Set(own.filter(([y], n) => y !== null &&
      (own[n - 1]?.[0] ?? null) === null &&
      (own[n + 1]?.[0] ?? null) === null).map(([, i]) => i));
    return drawMarks(u, column, stroke, (x, y, i) => {
      if (!lone.has(i)) return;
      u.ctx.beginPath();
      u.ctx.arc(x, y, 2.5 * devicePixelRatio, 0, 2 * Math.PI);
      u.ctx.fill();
    });
  };

  // Of a band: what lies between its ends in each column of the screen, as one
  // area. Where its parts are apart they have an outline, too.
  const bandRuns = (u, low, high) => {
    const runs = [];
    let run = null;
    u.data[low].forEach((from, i) => {
      const to = u.data[high][i];
      if (from === undefined) return;
      if (from === null || to === null) {
        run = null;
        return;
      }
      const x = u.valToPos(u.data[0][i], 'x', true);
      const [bottom, top] = [from, to].map((y) => u.valToPos(y, 'y', true));
      if (![x, bottom, top].every(Number.isFinite)) return;
      if (!run) runs.push(run = []);
      const last = run[run.length - 1];
      if (last && Math.round(x) === Math.round(last.x)) {
        last.bottom = Math.max(last.bottom, bottom);
        last.top = Math.min(last.top, top);
        last.parts += 1;
      } else {
        run.push({x, bottom, top, parts: 1});
      }
    });
    return runs;
  };

  // Many parts and nothing else in the chart: one dark area, no outline.
  const drawBand = (u, low, high, isAlone) => within(u, ({left, width}) => {
    const {ctx} = u;
    const thin = 1.4 * devicePixelRatio;
    for (const run of bandRuns(u, low, high)) {
      const seen = run.filter(({x}) => x >= left && x <= left + width);
      const parts = seen.reduce((sum, {parts: n}) => sum + n, 0);
      const isDense = isAlone && parts * 4 * devicePixelRatio > width;
      ctx.beginPath();
      for (const {x, top} of run) ctx.lineTo(x, top);
      // However narrow it is, it is to be seen.
      for (const {x, bottom, top} of [...run].reverse()) {
        ctx.lineTo(x, Math.max(bottom, top + thin));
      }
      ctx.closePath();
      ctx.fillStyle = colour(isDense ? 'first' : 'first-pale');
      ctx.fill();
      ctx.strokeStyle = colour('first');
      ctx.lineWidth = thin;
      ctx.setLineDash([]);
      if (!isDense) ctx.stroke();
    }
  });

  const drawBands = (u, list) => list.forEach((column, i) => {
    if (column.is === 'low' && column.of.drawn === 'band') {
      drawBand(u, i + 1, i + 2, list.length === 2);
    }
  });

  const drawBars = (u, list) => within(u, () => {
    u.ctx.strokeStyle = colour('ink');
    u.ctx.lineWidth = devicePixelRatio;
    const cap = 4 * devicePixelRatio;
    list.forEach((column, i) => {
      if (column.is !== 'low') return;
      if (['band', 'guess'].includes(column.of.drawn)) return;
      const isBox = column.of.drawn === 'box';
      u.ctx.setLineDash(isBox ? [6, 4].map((d) => d * devicePixelRatio) : []);
      u.data[i + 1].forEach((low, row) => {
        const high = u.data[i + 2][row];
        // Where U is not known there is no bar.
        if (low === null || low === undefined || high === null) return;
        const x = u.valToPos(u.data[0][row], 'x', true);
        const from = u.valToPos(low, 'y', true);
        const to = u.valToPos(high, 'y', true);
        u.ctx.beginPath();
        u.ctx.moveTo(x, from);
        u.ctx.lineTo(x, to);
        for (const y of isBox ? [] : [from, to]) {
          u.ctx.moveTo(x - cap, y);
          u.ctx.lineTo(x + cap, y);
        }
        u.ctx.stroke();
      });
    });
  });

  // How much of the data lies in a box: parts of the way from one to the next.
  const dataIn = (u, box) => {
    let count = 0;
    const has = (x, y) => x >= box.left && x <= box.right && y >= box.top &&
      y <= box.bottom;
    for (const column of u.data.slice(1)) {
      let last = null;
      column.forEach((value, i) => {
        if (value === undefined) return;
        const at = value === null ? null :
          [u.valToPos(u.data[0][i], 'x', true), u.valToPos(value, 'y', true)];
        if (at && last && Math.max(at[0], last[0]) >= box.left &&
            Math.min(at[0], last[0]) <= box.right) {
          for (let part = 0; part < 16; ++part) {
            count += has(...[0, 1].map((k) =>
              last[k] + part / 16 * (at[k] - last[k])));
          }
        } else if (at) {
          count += has(...at);
        }
        last = at;
      });
    }
    return count;
  };

  // Beside its line, of four places where the least of the data is; those of
  // upright lines at the top, below each other where they would meet.
  const namePlace = (u, level, wide, taken) => {
    const {left, top, width, height} = u.bbox;
    const pixels = (n) => n * devicePixelRatio;
    const at = u.valToPos(level.at, level.upright ? 'x' : 'y', true);
    const boxAt = (x, y) => ({left: x, right: x + wide, top: y - pixels(11),
      bottom: y + pixels(3)});
    if (level.upright) {
      const x = at + pixels(4) + wide > left + width ? at - pixels(4) - wide :
        at + pixels(4);
      const meets = (a) => taken.some((b) => a.left < b.right &&
        b.left < a.right && a.top < b.bottom && b.top < a.bottom);
      const boxes = [0, 1, 2, 3].map((line) =>
        boxAt(x, top + pixels(13 + 14 * line)));
      return boxes.find((box) => !meets(box)) ?? boxes[3];
    }
    const all = [left + width - pixels(4) - wide, left + pixels(4)].flatMap(
        (x) => [boxAt(x, at - pixels(5)), boxAt(x, at + pixels(13))]);
    const fitting = all.filter((box) => box.top >= top &&
      box.bottom <= top + height);
    if (!fitting.length) return all[0];
    const counts = fitting.map((box) => dataIn(u, box));
    return fitting[counts.indexOf(Math.min(...counts))];
  };

  const drawLevels = (u, chart) => within(u, ({left, top, width, height}) => {
    const {ctx} = u;
    ctx.strokeStyle = colour('second');
    ctx.lineWidth = 1.4 * devicePixelRatio;
    ctx.setLineDash([8 * devicePixelRatio, 5 * devicePixelRatio]);
    for (const level of chart.levels) {
      const at = u.valToPos(level.at, level.upright ? 'x' : 'y', true);
      ctx.beginPath();
      if (level.upright) {
        ctx.moveTo(at, top);
        ctx.lineTo(at, top + height);
      } else {
        ctx.moveTo(left, at);
        ctx.lineTo(left + width, at);
      }
      ctx.stroke();
    }
    ctx.setLineDash([]);
    ctx.font = 12 * devicePixelRatio + 'px serif';
    ctx.fillStyle = colour('ink');
    // A rim of the paper: what is below does not cross the letters.
    ctx.strokeStyle = colour('paper');
    ctx.lineWidth = 4 * devicePixelRatio;
    ctx.lineJoin = 'round';
    ctx.textAlign = 'left';
    const taken = [];
    for (const level of chart.levels) {
      const at = u.valToPos(level.at, level.upright ? 'x' : 'y', true);
      const isSeen = level.upright ? at >= left && at <= left + width :
        at >= top && at <= top + height;
      if (!level.name || !isSeen) continue;
      const box = namePlace(u, level, ctx.measureText(level.name).width, taken);
      taken.push(box);
      const y = box.bottom - 3 * devicePixelRatio;
      ctx.strokeText(level.name, box.left, y);
      ctx.fillText(level.name, box.left, y);
    }
  });

  const scaleOf = (axis) => axis.scale === 'logarithmic' ?
    {time: false, distr: 3} : {time: axis.scale === 'date'};

  const axisOf = (axis, size) => {
    const made = {label: axis.label, labelSize: 24, size,
      stroke: () => colour('ink'), font: '12px serif', labelFont: '13px serif',
      grid: {stroke: () => colour('grid'), width: 1},
      ticks: {stroke: () => colour('ink'), width: 1, size: 5}};
    made.values = axis.scale === 'logarithmic' ? powerTicks : linearTicks;
    if (axis.scale === 'linear' && size < 50) made.space = 70;
    if (axis.scale === 'date') {
      made.values = (u, splits) => splits.map((v) => {
        const text = new Date(v * 1000).toISOString();
        const isShort = u.scales.x.max - u.scales.x.min < 3 * 86400;
        return isShort ? text.slice(5, 16).replace('T', ' ') :
          text.slice(0, 10);
      });
      made.space = 90;
    }
    return made;
  };

  // Lines and levels are in view, with some room.
  const rangeOf = (chart) => (u, low, high) => {
    for (const level of chart.levels) {
      if (level.upright) continue;
      low = low === null ? level.at : Math.min(low, level.at);
      high = high === null ? level.at : Math.max(high, level.at);
    }
    if (chart.y.scale === 'logarithmic') {
      return uPlot.rangeLog(low, high, 10, true);
    }
    // Where all is alike, as much as what is left open.
    if (low === null || !(high > low)) return chart.y_range;
    const room = 0.05 * (high - low);
    const above = chart.levels.some((l) => l.upright && l.name) ?
      0.08 * (high - low) : 0;
    return [low - room, high + room + above];
  };

  const readOut = (u, chart, list, output) => {
    const i = u.cursor.idx;
    if (i === null || i === undefined) return;
    const x = u.data[0][i];
    const parts = [];
    let to;
    list.forEach((column, c) => {
      const value = u.data[c + 1][i];
      if (value === null || value === undefined) return;
      const {about, drawn, name: called, placesAt} = column.of;
      const at = placesAt.get(x);
      to = Math.min(to ?? at.x, at.x);
      const name = about || called || chart.y.label.split(' / ')[0];
      const unit = unitOf(chart.y);
      if (column.is === 'y') {
        parts.push(name + ' ' + rounded(value, at.y) + unit);
      }
      if (column.is === 'low') {
        parts.push((['band', 'box'].includes(drawn) ? name + ' ' : '') +
          'from ' + rounded(value, at.y) + ' to ' +
          rounded(u.data[c + 2][i], at.y) + unit);
      }
    });
    // A step is told by its middle.
    const isStep = list.some((column) => column.of.drawn === 'steps');
    const end = u.data[0][i + 1];
    const middle = isStep && end !== undefined ? 0.5 * (x + end) : x;
    parts.unshift(place(chart, middle, to ?? -6));
    output.textContent = parts.join(';  ');
  };

  // About `about`, or the middle of what is seen.
  const zoomBy = (u, factor, shift, about) => {
    const {min, max} = u.scales.x;
    const isLog = u.scales.x.distr === 3;
    const to = isLog ? Math.log10 : (v) => v;
    const back = isLog ? (v) => 10 ** v : (v) => v;
    const middle = about === undefined ? 0.5 * (to(min) + to(max)) : to(about);
    const half = 0.5 * (to(max) - to(min));
    const at = middle + shift * half;
    u.setScale('x', {min: back(at - factor * half),
      max: back(at + factor * half)});
  };

  // With some room, so that what is drawn at the ends is not cut.
  const showAll = (u) => {
    const x = u.data[0];
    const isLog = u.scales.x.distr === 3;
    const [from, to] = [x[0], x[x.length - 1]]
        .map((v) => isLog ? Math.log10(v) : v);
    const room = to > from ? 0.02 * (to - from) :
      Math.max(Math.abs(to) * 0.01, 1e-12);
    const [min, max] = [from - room, to + room]
        .map((v) => isLog ? 10 ** v : v);
    u.setScale('x', {min, max});
  };

  const addTools = (live, u, chart, output) => {
    const tools = node('div', 'tools');
    const actions = [['closer', () => zoomBy(u, 0.5, 0)],
      ['wider', () => zoomBy(u, 2, 0)], ['left', () => zoomBy(u, 1, -0.5)],
      ['right', () => zoomBy(u, 1, 0.5)], ['all', () => showAll(u)]];
    for (const [name, act] of actions) {
      const button = node('button', '', name);
      button.type = 'button';
      button.setAttribute('aria-label', name + ', ' + chart.title);
      button.addEventListener('click', act);
      tools.append(button);
    }
    tools.append(output);
    live.append(tools);
  };

  const steps = {ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10};

  const addKeys = (plot, u) => {
    let at = -1;
    // What is read is seen; a new view is there a moment later.
    const read = () => {
      const x = u.data[0][at];
      if (x < u.scales.x.min || x > u.scales.x.max) zoomBy(u, 1, 0, x);
      queueMicrotask(() => u.setCursor(
          {left: u.valToPos(x, 'x'), top: kHeight / 3}));
    };
    const zoom = (factor) => {
      zoomBy(u, factor, 0, at < 0 ? undefined : u.data[0][at]);
      if (at >= 0) read();
    };
    plot.addEventListener('keydown', (event) => {
      const last = u.data[0].length - 1;
      if (event.key === '+') return zoom(0.5);
      if (event.key === '-') return zoom(2);
      if (event.key === '0') return showAll(u);
      if (event.key === 'Home') at = 0;
      else if (event.key === 'End') at = last;
      else if (event.key in steps) at += steps[event.key];
      else return undefined;
      event.preventDefault();
      at = Math.max(0, Math.min(last, at));
      read();
      return undefined;
    });
  };

  const sample = (s) => {
    const ns = 'http://www.w3.org/2000/svg';
    const svg = document.createElementNS(ns, 'svg');
    svg.setAttribute('viewBox', '0 0 28 12');
    svg.setAttribute('aria-hidden', 'true');
    const shapes = {
      line: ['path', {d: 'M0 6H28', stroke: 'var(--first)'}],
      steps: ['path', {d: 'M0 9H14V3H28', stroke: 'var(--first)',
        fill: 'none'}],
      dashed: ['path', {d: 'M0 6H28', stroke: 'var(--second)',
        'stroke-dasharray': '8 5'}],
      guess: ['path', {d: 'M0 6H28', stroke: 'var(--first)',
        'stroke-dasharray': '2 5'}],
      band: ['rect', {x: 1, y: 1, width: 26, height: 10,
        fill: 'var(--first-pale)', stroke: 'var(--first)'}],
      box: ['rect', {x: 1, y: 1, width: 26, height: 10, fill: 'none',
        stroke: 'var(--second)', 'stroke-dasharray': '6 4'}],
      points: ['circle', {cx: 14, cy: 6, r: 4, fill: 'var(--first)'}],
      squares: ['rect', {x: 10, y: 2, width: 8, height: 8,
        fill: 'var(--second)'}]};
    const [tag, attributes] = shapes[s.drawn];
    const shape = document.createElementNS(ns, tag);
    shape.setAttribute('stroke-width', '2');
    for (const [k, v] of Object.entries(attributes)) shape.setAttribute(k, v);
    svg.append(shape);
    return svg;
  };

  const addKey = (live, chart) => {
    const named = chart.series.filter((s) => s.name);
    if (!named.length) return;
    const keys = node('ul', 'keys');
    for (const s of named) {
      const item = node('li');
      item.append(sample(s), s.name);
      keys.append(item);
    }
    live.append(keys);
  };

  const makeLive = (chart) => {
    const holder = document.getElementById('chart-' + chart.id);
    const live = holder.querySelector('.live');
    const list = columns(chart);
    const data = uPlot.join(tables(chart));
    const output = node('output');
    output.setAttribute('aria-live', 'polite');
    const plot = node('div', 'plot');
    plot.tabIndex = 0;
    plot.setAttribute('role', 'group');
    plot.setAttribute('aria-label', chart.title +
      '. Arrow keys read values out, plus and minus zoom, 0 shows all.');
    addKey(live, chart);
    live.append(plot);
    holder.classList.add('is-live');
    const u = new uPlot({
      width: plot.clientWidth, height: kHeight,
      // As it is asked for, never rounded out.
      scales: {x: {...scaleOf(chart.x), range: (v, min, max) => [min, max]},
        y: {...scaleOf(chart.y), range: rangeOf(chart)}},
      axes: [axisOf(chart.x, 40), axisOf(chart.y, 64)],
      series: [{}, ...list.map(lineOf)],
      legend: {show: false},
      tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1e3), 'Etc/UTC'),
      cursor: {drag: {x: true, y: false}},
      hooks: {drawAxes: [(v) => drawBands(v, list)],
        draw: [(v) => drawBars(v, list), (v) => drawLevels(v, chart)],
        setCursor: [(v) => readOut(v, chart, list, output)]},
    }, data, plot);
    showAll(u);
    addTools(live, u, chart, output);
    addKeys(plot, u);
    return {u, plot};
  };

  // What cannot be made live stays as it is.
  const all = charts.flatMap((chart) => {
    try {
      return [makeLive(chart)];
    } catch (error) {
      document.getElementById('chart-' + chart.id).classList.remove('is-live');
      console.error(error);
      return [];
    }
  });
  const again = () => all.forEach(({u, plot}) =>
    u.setSize({width: plot.clientWidth, height: kHeight}));
  addEventListener('resize', again);
  // On paper the numbers are there, whether they were opened or not.
  let opened = [];
  addEventListener('beforeprint', () => {
    opened = [...document.querySelectorAll('details:not([open])')];
    for (const numbers of opened) numbers.open = true;
  });
  addEventListener('afterprint', () => {
    for (const numbers of opened) numbers.open = false;
  });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change',
      () => all.forEach(({u}) => u.redraw(true, true)));
})();
