"""The style of the HTML sheet: light, black ink on white, A4, letter or a phone."""

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""Nothing may be loaded or run; only the style in the page itself is allowed."""

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 2rem auto; max-width: 70rem; padding: 0 1rem; background: #fff; color: #1a1a1a;
  font: 15px/1.4 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.7rem; margin: 0; }
h2 { font-size: 1.05rem; margin: 1.1rem 0 .3rem; border-bottom: 1px solid #8a8a8a; }
.result { font-size: 1.3rem; font-weight: bold; margin: .2rem 0 0; }
.status { margin: 0 0 .4rem; }
.caption { color: #444; font-size: .88em; margin: .1rem 0 .3rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .16rem .6rem .16rem 0;
  border-bottom: 1px solid #d9d9d9; }
thead th { border-bottom: 1px solid #1a1a1a; font-size: .85em; white-space: nowrap; }
.facts th { width: 9.5rem; font-weight: normal; color: #444; }
.from { color: #555; font-size: .88em; }
.from::before { content: "["; } .from::after { content: "]"; }
.valves td.valve, .valves td.count { font-weight: bold; }
.valves td:not(.remarks) { white-space: nowrap; }
td.window svg { width: 130px; height: 18px; vertical-align: middle; margin-right: .5rem; }
.heads { columns: 2; column-gap: 1.5rem; } .heads section { break-inside: avoid; }
.heads .engine { break-inside: auto; }
.pictures { display: flex; flex-wrap: wrap; gap: .5rem 1.5rem; margin: 1rem 0;
  align-items: center; }
.pictures svg { max-width: 100%; height: auto; display: block; }
.above { flex: 1 1 14rem; } .strip { flex: 3 1 30rem; }
.checksums td { overflow-wrap: anywhere; font-size: .9em;
  font-family: ui-monospace, "Liberation Mono", monospace; }
.checksums .from { font-family: system-ui, "Liberation Sans", Arial, sans-serif; }
.entries p { margin: 0 0 .3rem; } .entries h3 { font-size: 1em; margin: .5rem 0 .2rem; }
.number { font-size: .85em; color: #555; }
s { color: #444; text-decoration: line-through 1px rgba(179, 50, 10, .65); }
.struck { font-style: italic; }
ul { margin: .2rem 0; padding-left: 1.1rem; }
@media screen and (min-width: 800px) { .entries { columns: 2; column-gap: 2rem; }
  .entries h2 { column-span: all; } }
@media screen and (max-width: 700px) {
  body { margin: .6rem auto; padding: 0 .6rem; }
  .heads { columns: 1; }
  * { overflow-wrap: anywhere; }
  .facts, .facts tbody, .facts tr, .facts th, .facts td { display: block; width: auto; }
  .facts tr { border-bottom: 1px solid #d9d9d9; padding: .2rem 0; }
  .facts th, .facts td { border: 0; padding: 0; }
  .rows thead { display: none; }
  .rows, .rows tbody, .rows tr { display: block; }
  .rows tr { border-bottom: 1px solid #8a8a8a; padding: .3rem 0; }
  .rows td { display: inline-block; border: 0; padding: 0 .8rem 0 0; white-space: normal; }
  .valves td:not(.remarks) { white-space: normal; }
  .rows td::before { content: attr(data-head) " "; color: #555; font-size: .8em; }
  .rows td.valve::before, .rows td:empty { content: none; display: none; }
  .above, .strip { flex-basis: 100%; }
}
@page { margin: 10mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 8.5pt; line-height: 1.2; }
  h1 { font-size: 14pt; } .result { font-size: 12pt; } .status { margin-bottom: 1mm; }
  h2 { font-size: 9.5pt; margin: 2.2mm 0 .8mm; break-after: avoid; }
  th, td { padding: .25mm 2mm .25mm 0; } tr, li { break-inside: avoid; }
  .facts th { width: 24mm; } .heads { font-size: 7.4pt; line-height: 1.15; }
  .heads .facts th { width: 20mm; }
  td.window svg { height: 3.4mm; width: 30mm; }
  .pictures { flex-wrap: nowrap; margin: 2mm 0 0; }
  .above { flex: 1 1 32%; } .strip { flex: 2 1 64%; }
  .above svg, .strip svg { max-height: 43mm; margin: 0 auto; }
  .rest { break-before: page; }
  .entries { columns: 2; column-gap: 6mm; font-size: 8pt; line-height: 1.25; }
  .entries h2 { column-span: all; }
  .entries p { margin: 0 0 .8mm; } p { margin: .6mm 0; } ul { margin: .5mm 0; }
}
"""
