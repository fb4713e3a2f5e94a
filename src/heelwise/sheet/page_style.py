"""The style of the HTML sheet: light, black ink on white, A4 or letter, nothing fetched."""

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""Nothing may be loaded or run; only the style in the page itself is allowed."""

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 2rem auto; max-width: 76rem; padding: 0 1rem; background: #fff; color: #1a1a1a;
  font: 15px/1.4 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.7rem; margin: 0; }
h2 { font-size: 1.05rem; margin: 1.1rem 0 .3rem; border-bottom: 1px solid #8a8a8a; }
.status { font-size: 1.15rem; font-weight: bold; margin: .1rem 0 .6rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .16rem .45rem .16rem 0;
  border-bottom: 1px solid #d9d9d9; overflow-wrap: break-word; }
thead th { border-bottom: 1px solid #1a1a1a; font-size: .85em; }
.head th { white-space: nowrap; font-weight: normal; color: #555; }
.from { color: #555; font-size: .88em; }
.from::before { content: "["; } .from::after { content: "]"; }
.valve, .turns { font-weight: bold; white-space: nowrap; }
.whole { white-space: nowrap; }
.bar { width: 170px; } .bar svg { width: 160px; height: 18px; display: block; }
.todo { font-weight: bold; text-decoration: underline; }
.pictures { display: flex; flex-wrap: wrap; gap: .5rem 1.5rem; align-items: center; }
.pictures svg { max-width: 100%; height: auto; display: block; }
.above { flex: 1 1 14rem; } .strip { flex: 3 1 30rem; }
.seal { font-family: ui-monospace, "Liberation Mono", monospace; font-size: .9em; }
.entries { columns: 2; column-gap: 1.5rem; font-size: .8rem; line-height: 1.35; }
.entries p { margin: 0 0 .25rem; } .entries h3 { font-size: 1em; margin: .3rem 0 .1rem; }
.number { font-size: .85em; color: #555; }
s { text-decoration-thickness: 1.5px; } .struck { font-style: italic; }
.flow { columns: 2; column-gap: 1.5rem; }
ul { margin: .2rem 0; padding-left: 1.1rem; }
summary { font-weight: bold; }
@page { margin: 9mm 10mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 9.4px; line-height: 1.2; }
  h1 { font-size: 16px; } .status { font-size: 12px; margin-bottom: 3px; }
  h2 { font-size: 11px; margin: 6px 0 2px; break-after: avoid; }
  th, td { padding: 0 5px 0 0; } tr, li { break-inside: avoid; }
  .bar svg { height: 12px; width: 130px; } .bar { width: 135px; }
  .pictures { flex-wrap: nowrap; } .above { flex: 1 1 30%; } .strip { flex: 2 1 60%; }
  .above svg { max-height: 180px; } .strip svg { max-height: 190px; }
  .entries { columns: 3; column-gap: 12px; font-size: 7.7px; line-height: 1.18; }
  .entries p { margin: 0 0 1px; } p { margin: 2px 0; } ul { margin: 1px 0; }
  .screen-only { display: none; }
}
"""
