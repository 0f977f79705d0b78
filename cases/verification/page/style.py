"""Style sheet of the verification page."""

STYLE = """
:root { --ink: #26323a; --soft: #5c666c; --rule: #d8d5cf; --paper: #fff; --shade: #f6f4ef;
  --accent: #8a3b12; --good: #2d6a4f; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 1060px; padding: 44px 36px 80px; color: var(--ink); background: var(--paper);
  font: 15px/1.55 "Source Sans 3", "Segoe UI", "Helvetica Neue", Arial, "Liberation Sans", sans-serif; }
h1, h2, h3 { font-family: Charter, "Iowan Old Style", Georgia, "Liberation Serif", serif; font-weight: 600;
  line-height: 1.25; }
h1 { font-size: 32px; margin: 0 0 14px; }
h2 { font-size: 23px; margin: 60px 0 6px; padding-top: 12px; border-top: 2px solid var(--ink); }
h3 { font-size: 17.5px; margin: 40px 0 6px; padding-top: 8px; border-top: 1px solid var(--rule); }
h3 .word { float: right; font: 600 13.5px/1.9 "Source Sans 3", "Segoe UI", Arial, "Liberation Sans", sans-serif; }
h2 + section h3 { border-top: 0; margin-top: 16px; }
p, ul, ol { max-width: 86ch; margin: 6px 0 10px; }
a { color: var(--ink); text-decoration-color: var(--accent); text-underline-offset: 3px; }
.lead { font-size: 17px; }
.soft, ol.sources, .run { color: var(--soft); font-size: 13px; line-height: 1.45; }
ol.sources { list-style: none; padding: 0; max-width: 110ch; }
ol.sources li { padding-left: 2.2em; text-indent: -2.2em; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 2px 18px; font-size: 13.5px; max-width: 100ch; }
dt { font-weight: 600; } dd { margin: 0; }
table { border-collapse: collapse; width: 100%; font-size: 13px; line-height: 1.4; margin: 10px 0 12px; }
th { text-align: left; font-weight: 600; border-bottom: 1.5px solid var(--ink); vertical-align: bottom; }
th, td { padding: 4px 12px 4px 0; }
td { border-bottom: 1px solid var(--rule); vertical-align: top; }
th.n, td.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
tr.group th { border-bottom: 1px solid var(--rule); padding-top: 14px; color: var(--accent); }
td small { display: block; color: var(--soft); font-size: 12px; max-width: 44ch; }
.word { white-space: nowrap; }
.good { color: var(--good); }
.bad { color: #fff; background: #a4262c; font-weight: 600; padding: 0 5px; }
.none { color: var(--soft); font-style: italic; }
ul.two { columns: 2; column-gap: 40px; max-width: none; padding-left: 16px; }
ul.two li { break-inside: avoid; margin-bottom: 5px; }
.figures { display: grid; grid-template-columns: repeat(2, 1fr); gap: 10px 26px; margin: 10px 0 0; }
.figures svg { width: 100%; height: auto; display: block; break-inside: avoid; }
svg text { font-family: inherit !important; }
@page { size: A4; margin: 14mm 12mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; }
  table { font-size: 8.2pt; }
  .soft, ol.sources, dl, td small { font-size: 8pt; }
  .lead { font-size: 11.5pt; }
  h2, h3 { break-after: avoid; }
  h2 { margin-top: 30px; }
  thead { display: table-header-group; }
  tr, .figures svg, ol.sources li { break-inside: avoid; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
