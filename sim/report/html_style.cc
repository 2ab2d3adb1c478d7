// SPDX-License-Identifier: Apache-2.0
//
// Dark on light, large, for a screen at the bench and for paper. No colour carries a meaning alone:
// the symbols and words beside it do. The text has no character that XML would read as markup.
#include "report/html_parts.h"

namespace drycrank::report {

const std::string_view kStyleSheet = R"css(
:root { --ink: #17191c; --soft: #4a4f55; --rule: #c9c6bd; --paper: #fffefa; --wash: #f3f1ea;
  --bad: #8f1616; --good: #17542f; --unseen: #694400; --wide: #24496e; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 62rem; background: var(--paper);
  color: var(--ink); font: 1.0625rem/1.5 "Liberation Sans", "DejaVu Sans", sans-serif;
  font-variant-numeric: tabular-nums; overflow-wrap: break-word; }
header { border-bottom: 4px solid var(--ink); margin-bottom: 1.2rem; padding-bottom: .5rem; }
header p, .verdict p { margin: .15rem 0; }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .3rem; }
h2 { font-size: 1.3rem; margin: 2.2rem 0 .7rem; border-bottom: 2px solid var(--ink); }
h3 { margin: 0 0 .4rem; line-height: 1.3; }
a { color: inherit; }
.verdict { border: 4px solid var(--good); padding: .8rem 1.1rem; }
.verdict.failed { border-color: var(--bad); }
.verdict.not_shown { border-color: var(--unseen); border-style: dashed; }
.verdict .big { font-size: 1.6rem; font-weight: bold; line-height: 1.3; }
.verdict.met .sign { color: var(--good); }
.verdict.failed .sign { color: var(--bad); }
.badge { display: inline-block; border: 2px solid; padding: 0 .45rem; font-size: .9rem;
  font-weight: bold; white-space: nowrap; }
.badge.met { color: var(--good); }
.badge.failed { color: var(--bad); }
.badge.not_observed, .badge.not_observable { color: var(--unseen); border-style: dashed; }
.failure { border-left: 10px solid var(--bad); background: var(--wash); padding: .8rem 1rem;
  margin: 0 0 1.2rem; }
.failure.not_observed, .failure.not_observable { border-left-color: var(--unseen); }
.failure h3 { font-size: 1.5rem; }
.failure p { margin: .4rem 0; }
.detail { font-size: 1.15rem; font-weight: bold; }
.look { font-weight: bold; }
.caution { margin: .8rem 0; }
#cautions { border: 3px double var(--ink); padding: .2rem 1.1rem; margin-top: 2rem; }
#cautions h2 { border: 0; margin: .6rem 0 .2rem; }
#cautions ul { columns: 2 20rem; column-gap: 2rem; padding-left: 1.2rem; }
#cautions li { margin: 0 0 .45rem; break-inside: avoid; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0; }
th, td { text-align: left; vertical-align: top; padding: .35rem .6rem .35rem 0;
  border-bottom: 1px solid var(--rule); }
thead th { border-bottom: 2px solid var(--ink); font-size: .9rem; }
.num { white-space: nowrap; }
.nowrap { white-space: nowrap; }
tr.failed td:first-child { color: var(--bad); font-weight: bold; }
tr.not_shown td:first-child, tr.signed td:first-child { color: var(--unseen); }
figure { margin: 0 0 1.5rem; }
figcaption { font-weight: bold; margin-bottom: .3rem; }
.exps { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 1.4rem; }
.exp { border-top: 1px solid var(--ink); padding-top: .5rem; min-width: 0; }
.exp.failed, .exp.not_observed, .exp.not_observable { grid-column: 1 / -1; }
.exp h3 { font-size: 1.05rem; }
.exp p { margin: .2rem 0; font-size: .95rem; }
.exp .margin { color: var(--soft); }
.empty { font-style: italic; color: var(--soft); }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .2rem 1.2rem; }
dt { font-weight: bold; }
dd { margin: 0; overflow-wrap: anywhere; min-width: 0; }
pre { background: var(--wash); border: 1px solid var(--rule); padding: .7rem; white-space: pre-wrap; }
#sign thead + tbody td { height: 3rem; border: 1px solid var(--ink); width: 27%; }
#sign th { vertical-align: middle; }
#sign .facts th { width: 14rem; vertical-align: top; }
#sign .facts td { overflow-wrap: anywhere; }
.banner { font-size: 1.4rem; font-weight: bold; text-align: center; padding: .4rem;
  border: 4px solid var(--good); margin: .4rem 0; }
.sheet.unready { border: 6px dashed var(--unseen); padding: 0 1rem 1rem; }
.sheet.unready .banner { border-color: var(--unseen); }
.scroll { overflow-x: auto; }
:not(svg) > svg { display: block; width: 100%; height: auto; }
svg text { font-size: 13px; fill: var(--ink); }
svg .cap { fill: var(--soft); }
svg .name { font-weight: bold; }
svg .halo { paint-order: stroke; stroke: var(--paper); stroke-width: 4px; }
svg path { fill: none; stroke: var(--ink); }
svg .grid { stroke: #dcd9cf; stroke-width: 1; }
svg .edge { stroke: #8b8a84; stroke-width: 1; }
svg .band { fill: #dfe6dc; stroke: #7d9479; stroke-width: 1; }
svg .blank { fill: var(--paper); stroke: none; }
svg .done { fill: var(--ink); stroke: var(--ink); stroke-width: 1; }
svg .wanted { stroke: var(--good); stroke-width: 2; stroke-dasharray: 7 4; }
svg .level { stroke: var(--ink); stroke-width: 1.6; stroke-dasharray: 2 4; }
svg .said { stroke: var(--ink); stroke-width: 2.2; stroke-linejoin: round; }
svg .worst { stroke: var(--bad); stroke-width: 1.4; stroke-dasharray: 2 3; }
svg .ring { fill: none; stroke: var(--bad); stroke-width: 2.6; }
svg .trace { stroke-width: 1.8; stroke-linejoin: round; }
svg .top { stroke: #b9b5a8; stroke-width: 1; stroke-dasharray: 1 3; }
svg .t0 { stroke: var(--wide); }
svg .t1 { stroke: #7a2b12; }
svg .t2 { stroke: var(--good); }
svg .t3 { stroke: #553277; }
svg .cursor { stroke: var(--bad); stroke-width: 1.6; }
svg .c1 { stroke: var(--wide); stroke-dasharray: 9 3; }
figure.cycle > svg { touch-action: pan-y; cursor: crosshair; }
.cursors { position: sticky; left: 0; max-width: calc(100vw - 2.4rem); margin: .4rem 0; }
.cursors label { display: flex; flex-wrap: wrap; align-items: center; gap: 0 .8rem; }
.cursors input { flex: 1 1 12rem; min-height: 2.2rem; accent-color: var(--ink); }
.cursors output { flex: 1 1 100%; font-weight: bold; }
.cursors p { margin: .3rem 0; }
.cursors button { font: inherit; min-height: 2.6rem; padding: .3rem .8rem; margin: 0 .4rem .4rem 0;
  border: 2px solid var(--ink); background: var(--wash); color: inherit; }
@media screen and (max-width: 44rem) {
  .exps { grid-template-columns: minmax(0, 1fr); }
  dl { grid-template-columns: minmax(0, 1fr); }
  :is(#open, #circuits, .wires) thead { display: none; }
  :is(#open, #circuits, .wires) :is(table, tbody, tr) { display: block; }
  :is(#open, #circuits, .wires) :is(th, td) { display: inline; border: 0; padding: 0 .5rem 0 0; }
  :is(#open, #circuits, .wires) tr { border-bottom: 1px solid var(--rule); padding: .5rem 0; }
  #open td:last-child, #circuits td:last-child { display: block; }
  #sign .facts th { width: 6.5rem; }
  figure, .exp { overflow-x: auto; }
  svg.wide { width: 54rem; }
}
@page { size: A4; margin: 14mm 14mm 16mm; }
@media print {
  .cursors, svg .cursor, svg .mark { display: none; }
  body { padding: 0; max-width: none; font-size: 10.5pt; background: #fff; }
  h1, .verdict .big { font-size: 16pt; }
  .failure h3 { font-size: 15pt; }
  #cautions ul { font-size: 9pt; columns: 2; }
  table { font-size: 9.5pt; }
  .exp p { font-size: 9pt; }
  #expectations p:first-of-type { break-after: avoid; }
  h2 { font-size: 13pt; margin-top: 14pt; break-after: avoid; }
  .failure, .exp, figure, tr, #cautions, #sign, .verdict { break-inside: avoid; }
  .sheet { break-before: page; font-size: 9.5pt; }
  .sheet h2 { margin-top: 0; }
  #sign thead + tbody td { height: 1.9rem; }
  #sign .facts td, #sign .facts th { padding: .12rem .5rem .12rem 0; }
  thead { display: table-header-group; }
  a { text-decoration: none; }
  * { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
}
)css";

}  // namespace drycrank::report
