"""The look of a page: the warm inks of our pictures on white, the stage's own where the screen is dark.

Words keep a contrast of 7:1 (WCAG 2.2, AAA), lines of a drawing 3:1; tests/page/test_look.py measures both.
"""

from __future__ import annotations

from pedaltrainer.paper.page import GROUND, INK

LIGHT = {
    "ground": GROUND,
    "ink": INK,
    "quiet": "#544837",
    "accent": "#6b4409",
    "line": "#8d7d66",
    "band": "#e9e0d2",
    "shade": "#f6f1e8",
}
DARK = {
    "ground": "#15110e",
    "ink": "#f5ebd8",
    "quiet": "#bcaf9a",
    "accent": "#f6b760",
    "line": "#8f826d",
    "band": "#3b3022",
    "shade": "#201a15",
}
WORDS = (
    *((ink, ground) for ink in ("ink", "quiet", "accent") for ground in ("ground", "shade")),
    ("ink", "band"),
)
DRAWN = (("line", "ground"), ("accent", "band"), ("ink", "band"))


def _named(inks: dict[str, str]) -> str:
    return ":root{" + "".join(f"--{name}:{value};" for name, value in inks.items()) + "}"


_RULES = """
*{box-sizing:border-box}
html{color-scheme:light dark;-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0;background:var(--ground);color:var(--ink);
  font:1rem/1.5 system-ui,-apple-system,"Segoe UI",Roboto,sans-serif;overflow-wrap:break-word}
header,main,nav{max-width:46rem;margin:0 auto;padding:0 1rem}
h1{font-size:1.75rem;line-height:1.2;margin:1.5rem 0 .5rem}
h2{font-size:1.3rem;line-height:1.25;margin:2.75rem 0 .75rem;padding-bottom:.25rem;
  border-bottom:2px solid var(--accent)}
h3{font-size:1.1rem;line-height:1.3;margin:2rem 0 .5rem}
p{margin:.4rem 0}
ul{margin:.4rem 0;padding-left:1.2rem}
a{color:var(--accent);text-underline-offset:.15em}
a:focus-visible,summary:focus-visible,.wide:focus-visible{outline:3px solid var(--accent);outline-offset:2px}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:.25rem 1.25rem;padding:0}
nav a{display:inline-block;padding:.25rem 0}
time{white-space:nowrap}
.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(7.6rem,1fr));gap:.75rem;margin:1rem 0}
.facts div{background:var(--shade);border-left:4px solid var(--accent);padding:.5rem .75rem}
dt{color:var(--quiet);font-size:.875rem}
dd{margin:0;font-size:1.2rem;font-variant-numeric:tabular-nums}
.wide{overflow-x:auto;margin:.5rem 0}
table{border-collapse:collapse;font-size:.9375rem;font-variant-numeric:tabular-nums}
.caption{color:var(--quiet);font-size:.9375rem;margin-top:1rem}
th,td{padding:.3rem .9rem .3rem 0;text-align:left;vertical-align:top;border-bottom:1px solid var(--band)}
thead th{vertical-align:bottom;border-bottom:1px solid var(--line)}
tbody th{font-weight:600;min-width:6rem}
th.figure,td.figure{text-align:right}
summary{cursor:pointer;color:var(--accent);padding:.25rem 0}
.weeks th,.weeks td{padding-top:.15rem;padding-bottom:.15rem;white-space:nowrap}
.weeks tbody th{font-weight:400}
.board{display:block;width:min(15rem,36vw);margin-top:.3rem}
figure{margin:.75rem 0}
figure>svg{display:block;width:100%;max-width:44rem;overflow:hidden}
svg text{fill:var(--ink);font-size:13px;paint-order:stroke;stroke:var(--ground);stroke-width:4px;
  stroke-linejoin:round}
svg .grid{stroke:var(--band);stroke-width:1}
svg .area{fill:var(--band)}
svg .trend{fill:none;stroke:var(--line);stroke-width:2.5;vector-effect:non-scaling-stroke}
svg .target{stroke:var(--ink);stroke-width:1.5;stroke-dasharray:7 4}
svg .day{stroke:var(--accent);stroke-width:3}
svg .rough{stroke:var(--accent);stroke-width:2;stroke-dasharray:4 3}
svg .end{fill:none;stroke:var(--accent);stroke-width:2}
svg .dot{fill:var(--ink)}
svg .bar{fill:var(--accent)}
svg .nail{fill:var(--ground)}
svg .all{fill:var(--shade);stroke:var(--line);stroke-width:1}
"""

_PRINT = """
@page{margin:16mm}
@media print{
nav{display:none}
header,main{max-width:none;padding:0}
body{font-size:10pt}
a{color:inherit;text-decoration:none}
h2,h3,.caption,summary{break-after:avoid}
section section{break-inside:avoid}
h2{margin-top:1.5rem}
.apart{break-before:page}
figure,tr,.facts,dl div{break-inside:avoid}
thead{display:table-header-group}
.wide{overflow:visible}
figure>svg{max-width:15cm}
table{font-size:8.5pt}
th,td{padding-top:0;padding-bottom:0}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
details::details-content{content-visibility:visible;block-size:auto;opacity:1}
}
"""

STYLE = f"{_named(LIGHT)}\n@media screen and (prefers-color-scheme:dark){{{_named(DARK)}}}{_RULES}{_PRINT}"
