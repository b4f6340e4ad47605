"""The page's style sheet: light, dark and on paper, from the colours in one place. Pure."""

from __future__ import annotations

from soak.report.colours import CARD, GRID, PAGE

_REST = """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,-apple-system,'DejaVu Sans',sans-serif}
main,header,footer{max-width:52rem;margin:0 auto;padding:0 1rem}
h1{font-size:1.7rem;line-height:1.2;margin:.2rem 0 1rem;overflow-wrap:anywhere}
h2{font-size:1.25rem;margin:2.2rem 0 .6rem;padding-top:.5rem;border-top:2px solid var(--line)}
h3{font-size:1rem;margin:1.2rem 0 .3rem}
h4{font-size:.9rem;margin:.8rem 0 0}
p{margin:.3rem 0}
.over{margin-top:1.4rem;color:var(--soft)}
.soft{color:var(--soft)}.good{color:var(--good)}.warn{color:var(--warn)}.bad{color:var(--bad)}
.cards{display:grid;grid-template-columns:1.5fr 1fr 1fr;gap:.7rem}
.card{background:var(--raised);border:1px solid var(--line);border-radius:6px;padding:.6rem .9rem}
.card h3{margin:0;font-size:.85rem;font-weight:600;color:var(--soft)}
.card strong{font-size:1.25rem;line-height:1.25}
.first{grid-row:span 2;border-width:2px}
.big{font-size:3.4rem;font-weight:700;line-height:1.1;margin:.2rem 0 0;white-space:nowrap}
.band{font-size:1.35rem;font-weight:600}
.cautions{border-left:5px solid var(--warn);padding:.1rem 0 .1rem 1rem;margin:1.1rem 0}
.cautions h3{margin:.2rem 0}
ul,ol{margin:.3rem 0;padding-left:1.3rem}
li{margin:.25rem 0;overflow-wrap:anywhere}
.scroll{overflow-x:auto;margin:.8rem 0}
table{border-collapse:collapse;width:100%;font-size:.9rem;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--soft);padding-bottom:.3rem}
.pieces th:first-child{min-width:11rem}
th,td{text-align:left;vertical-align:top;padding:.3rem .7rem .3rem 0;border-bottom:1px solid var(--line)}
th{font-weight:600}
td{overflow-wrap:break-word}
td:last-child,.notes td:nth-child(3){overflow-wrap:anywhere}
.pieces td:nth-child(n+2),.events td:first-child,.notes td:first-child{white-space:nowrap}
figure{margin:1rem 0}
figure .sheet{overflow-x:auto;background:CARD;border:1px solid GRID;border-radius:6px;padding:.5rem}
figure svg{display:block;width:100%;min-width:36rem;height:auto}
figcaption{color:var(--soft);font-size:.9rem;margin-top:.4rem}
pre{font:.82rem/1.45 ui-monospace,'DejaVu Sans Mono',monospace;white-space:pre-wrap;overflow-wrap:anywhere;
background:var(--raised);border:1px solid var(--line);border-radius:6px;padding:.7rem;margin:.4rem 0}
.profiles{columns:2;column-gap:1.2rem}
.profile{break-inside:avoid-column}
.profile pre{font-size:.72rem;padding:.5rem}
footer{color:var(--soft);font-size:.85rem;padding-bottom:2rem}
@media (max-width:44rem){
.cards{grid-template-columns:1fr 1fr}.first{grid-column:1/-1;grid-row:auto}.profiles{columns:1}
}
"""
_PRINT = """
@page{size:A4;margin:14mm 15mm}
@media print{
:root{--paper:#fff;--raised:#fff}
html{font-size:9.5pt}
body{font-size:9.5pt;line-height:1.4}
main,header,footer{max-width:none;padding:0}
h1{font-size:17pt}h2{font-size:12.5pt;margin-top:14pt}h3{font-size:10pt}
.over{margin-top:0}.big{font-size:34pt}
h2,h3,h4,caption{break-after:avoid}
figure,tr,li,.card,.cautions{break-inside:avoid}
thead{display:table-header-group}
.scroll,figure .sheet{overflow:visible}
figure .sheet{padding:0;border:0}
figure svg{min-width:0;max-height:240mm}
pre{font-size:8pt}.profile pre{font-size:7pt}.profile{break-inside:auto}
}
"""


def sheet() -> str:
    """The whole style sheet."""
    light = "".join(f"--{name}:{pair[0]};" for name, pair in PAGE.items())
    dark = "".join(f"--{name}:{pair[1]};" for name, pair in PAGE.items())
    rest = _REST.replace("CARD", CARD).replace("GRID", GRID)
    on_screen = f"@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}"
    return f":root{{color-scheme:light dark;{light}}}\n{on_screen}{rest}{_PRINT}"
