// SPDX-License-Identifier: Apache-2.0
//
// Two cursors and a closer view for each cycle on the page. It needs nothing from elsewhere; without it, and on paper, the
// drawing stands as it is. The text has no character that XML would read as markup.
#include "report/html_parts.h"

namespace drycrank::report {

const std::string_view kCycleScript = R"js(
'use strict';
document.querySelectorAll('figure.cycle').forEach(figure => {
  const axis = JSON.parse(figure.dataset.axis);
  const plot = figure.querySelector('svg svg');
  const wide = axis.right - axis.left;
  let from = 0, shown = axis.cycle;
  const clamp = (value, low, high) => Math.max(low, Math.min(high, value));
  const x = deg => axis.left + (deg - from) / shown * wide;

  // Shapes are stretched, words and rings only moved.
  const parts = [...plot.children].map(part => {
    const stretched = part.tagName === 'path';
    if (stretched) part.setAttribute('vector-effect', 'non-scaling-stroke');
    const beside = {start: 4, end: -4}[part.getAttribute('text-anchor')] || 0;
    const at = Number(part.getAttribute('x') || part.getAttribute('cx') || 0) - beside;
    return {part, stretched, at};
  });
  const place = () => {
    const factor = axis.cycle / shown;
    const shift = axis.left * (1 - factor) - from / shown * wide;
    plot.setAttribute('overflow', axis.cycle > shown ? 'hidden' : 'visible');
    for (const {part, stretched, at} of parts) {
      part.setAttribute('transform', stretched ? `matrix(${factor} 0 0 1 ${shift} 0)`
        : `translate(${at * factor + shift - at} 0)`);
    }
  };

  const timeAt = deg => {
    const step = axis.cycle / (axis.ms.length - 1);
    const i = clamp(Math.floor(deg / step), 0, axis.ms.length - 2);
    return axis.ms[i] + (axis.ms[i + 1] - axis.ms[i]) * (deg / step - i);
  };
  // The last tooth that was due, of a row; before the first of the cycle, the cycle's last.
  const toothAt = (row, deg) => {
    const before = row.teeth.filter(tooth => deg >= tooth[0]);
    const [at, number] = before.length ? before[before.length - 1] : row.teeth[row.teeth.length - 1];
    const past = deg >= at ? deg - at : deg - at + axis.cycle;
    return `${row.name} tooth ${number} + ${past.toFixed(1)}°`;
  };
  const inWords = deg => [`${deg.toFixed(1)}°`, `${timeAt(deg).toFixed(2)} ms`,
    ...axis.rows.filter(row => row.teeth.length).map(row => toothAt(row, deg))].join(' · ');

  const make = (name, parent, text) => {
    const element = document.createElement(name);
    if (text) element.textContent = text;
    parent.append(element);
    return element;
  };
  const tools = make('div', figure);
  tools.className = 'cursors';
  const said = {};
  const cursors = ['A', 'B'].map((name, i) => {
    const line = document.createElementNS(plot.namespaceURI, 'path');
    const mark = document.createElementNS(plot.namespaceURI, 'text');
    line.setAttribute('class', `cursor c${i}`);
    mark.setAttribute('class', 'mark name halo');
    mark.setAttribute('y', 27);
    mark.textContent = name;
    plot.append(line, mark);
    const label = make('label', tools, `Cursor ${name} `);
    const slider = make('input', label);
    Object.assign(slider, {type: 'range', min: 0, max: axis.cycle, step: 0.1, value: axis.cycle * (i + 1) / 3});
    said[name] = make('output', label);
    return {name, line, mark, slider, deg: () => Number(slider.value)};
  });
  const between = make('p', tools);
  const height = plot.viewBox.baseVal.height - 40;
  const show = () => {
    for (const {name, line, mark, slider, deg} of cursors) {
      line.setAttribute('d', `M${x(deg())} 14V${height}`);
      mark.setAttribute('x', x(deg()) + 3);
      said[name].textContent = inWords(deg());
      slider.setAttribute('aria-valuetext', inWords(deg()));
    }
    const [a, b] = cursors.map(cursor => cursor.deg());
    between.textContent = `From A to B ${(b - a).toFixed(1)}° · ${(timeAt(b) - timeAt(a)).toFixed(2)} ms. ` +
      `Shown: ${from.toFixed(1)}° to ${(from + shown).toFixed(1)}°.`;
  };
  const look = (begin, width) => {
    shown = clamp(width, axis.cycle / 64, axis.cycle);
    from = clamp(begin, 0, axis.cycle - shown);
    place();
    show();
  };
  const closer = (factor, centre) => look(centre - (centre - from) * factor, shown * factor);
  const centre = () => {
    const seen = cursors.map(cursor => cursor.deg()).filter(deg => deg >= from ? from + shown >= deg : false);
    return seen.length ? seen[0] : from + shown / 2;
  };
  const button = (text, label, act) => {
    const made = make('button', tools, text);
    made.type = 'button';
    made.setAttribute('aria-label', label);
    made.addEventListener('click', act);
  };
  button('closer', 'closer, about a cursor', () => closer(0.5, centre()));
  button('wider', 'wider', () => closer(2, centre()));
  button('whole cycle', 'show the whole cycle', () => look(0, axis.cycle));
  button('◂', 'earlier', () => look(from - shown / 4, shown));
  button('▸', 'later', () => look(from + shown / 4, shown));
  cursors.forEach(cursor => cursor.slider.addEventListener('input', show));

  // A click takes the nearer cursor there, a drag moves the view.
  const degAt = event => {
    const box = plot.ownerSVGElement.getBoundingClientRect();
    const px = (event.clientX - box.left) / box.width * plot.ownerSVGElement.viewBox.baseVal.width;
    return from + (px - axis.left) / wide * shown;
  };
  let held = null;
  const drawing = plot.ownerSVGElement;
  drawing.addEventListener('pointerdown', event => { held = {deg: degAt(event), x: event.clientX, moved: false}; });
  drawing.addEventListener('pointermove', event => {
    if (!held || event.buttons === 0) return;
    held.moved = held.moved || Math.abs(event.clientX - held.x) > 4;
    if (held.moved) look(from + held.deg - degAt(event), shown);
  });
  drawing.addEventListener('pointerup', event => {
    const deg = degAt(event);
    if (held) if (!held.moved) if (deg >= 0) if (axis.cycle >= deg) {
      const nearer = [...cursors].sort((p, q) => Math.abs(p.deg() - deg) - Math.abs(q.deg() - deg))[0];
      nearer.slider.value = deg;
      show();
    }
    held = null;
  });
  drawing.addEventListener('wheel', event => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    closer(event.deltaY > 0 ? 1.25 : 0.8, degAt(event));
  }, {passive: false});
  show();
});
)js";

}  // namespace drycrank::report
