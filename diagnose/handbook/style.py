"""The look of the page: warm paper, ink, one accent, hairlines; light, dark, more contrast, print.

The colours are those of the program's own screens.
"""

from collections.abc import Mapping

from diagnose.drawings.svg import style_sheet

LIGHT: Mapping[str, str] = {
    "paper": "#F7F5F0",
    "surface": "#FFFFFF",
    "ink": "#1E2226",
    "muted": "#565E66",
    "rule": "#CFCAC0",
    "accent": "#0A5563",
    "accent_soft": "#DCEBED",
    "caution": "#7A4300",
    "caution_soft": "#FFF0D9",
    "stop": "#931A1A",
    "stop_soft": "#FCE6E4",
}
DARK: Mapping[str, str] = {
    "paper": "#15181B",
    "surface": "#1D2125",
    "ink": "#ECEAE4",
    "muted": "#A9B0B7",
    "rule": "#3A4148",
    "accent": "#74C7D2",
    "accent_soft": "#173539",
    "caution": "#F2BC6C",
    "caution_soft": "#372810",
    "stop": "#F4A19A",
    "stop_soft": "#3B1B1A",
}
# On paper: black on white, whatever the screen was.
_PRINTED = {**LIGHT, "paper": "#FFFFFF", "accent_soft": "#FFFFFF"}
_STARK = {**LIGHT, "ink": "#000000", "muted": "#000000", "rule": "#000000", "paper": "#FFFFFF"}
_STARK_DARK = {**DARK, "ink": "#FFFFFF", "muted": "#FFFFFF", "rule": "#FFFFFF", "paper": "#000000"}


def _tokens(colours: Mapping[str, str]) -> str:
    said = "".join(f"--{name.replace('_', '-')}:{value};" for name, value in colours.items())
    return f":root{{{said}}}"


def page_style() -> str:
    """Give the style sheet of the page."""
    drawn = {
        **{role: f"var(--{role})" for role in ("ink", "muted", "accent", "rule")},
        "card": "var(--surface)",
        "soft": "var(--accent-soft)",
    }
    return "\n".join(
        [
            _tokens(LIGHT),
            f"@media (prefers-color-scheme:dark){{{_tokens(DARK)}}}",
            f"@media (prefers-contrast:more){{{_tokens(_STARK)}}}",
            "@media (prefers-contrast:more) and (prefers-color-scheme:dark)"
            f"{{{_tokens(_STARK_DARK)}}}",
            _SCREEN.strip(),
            style_sheet(drawn),
            f"@media print{{{_tokens(_PRINTED)}{_PRINT.strip()}}}",
        ]
    )


_SCREEN = """
:root{color-scheme:light dark}
*{box-sizing:border-box}
html{scroll-padding-top:1rem}
body{margin:0;background:var(--paper);color:var(--ink);
 font:1rem/1.45 "Atkinson Hyperlegible",system-ui,"Segoe UI",Roboto,Helvetica,Arial,sans-serif;
 font-variant-numeric:tabular-nums}
header,main,footer{max-width:62rem;margin:0 auto;padding:0 1.5rem}
p,li,h1,h2,h3,h4,h5{max-width:75ch;overflow-wrap:anywhere}
a{color:var(--accent);text-underline-offset:.15em;text-decoration-thickness:1px}
a:hover{text-decoration-thickness:2px}
a:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
.skip{position:absolute;left:-100rem}
.skip:focus{left:1rem;top:1rem;background:var(--surface);padding:.5rem 1rem}
h1{font-size:2.1rem;line-height:1.2;margin:2.5rem 0 .5rem}
h2{font-size:1.6rem;line-height:1.25;margin:4rem 0 .5rem;padding-top:1.5rem;
 border-top:2px solid var(--accent)}
h3{font-size:1.25rem;margin:2.5rem 0 .5rem}
.name{font-size:1.1rem;margin:0 0 .5rem}
.part{font-size:.85rem;color:var(--muted);margin:1rem 0 .2rem}
p{margin:.3rem 0}
ul{margin:.3rem 0;padding-left:1.2rem}
.lead{font-size:1.15rem}
article{border-top:1px solid var(--rule);padding:1rem 0 1.25rem}
article:target>.name{color:var(--accent)}
.box{border:1px solid;border-left-width:4px;border-radius:4px;padding:.4rem .75rem;
 margin:.3rem 0;max-width:75ch}
.box.caution{background:var(--caution-soft);border-color:var(--caution)}
.box.stop{background:var(--stop-soft);border-color:var(--stop)}
.caution strong{color:var(--caution)}
.stop strong{color:var(--stop)}
.source{color:var(--muted);font-size:.85rem;margin-top:.75rem}
.source a{color:inherit}
table{border-collapse:collapse;margin:.4rem 0;max-width:100%}
th,td{text-align:left;vertical-align:top;padding:.25rem 1.25rem .25rem 0;
 border-bottom:1px solid var(--rule);overflow-wrap:anywhere}
thead th{color:var(--muted);font-size:.85rem}
.facts th{color:var(--muted);font-weight:normal;white-space:nowrap}
.facts th,.facts td{border-bottom:0;padding-top:.1rem;padding-bottom:.1rem}
.facts td{max-width:60ch}
td ul{margin:0;padding-left:1rem}
.leads td:first-child,.leads td:last-child{white-space:nowrap}
nav ul{columns:2;column-gap:2.5rem;list-style:none;padding:0}
nav li{break-inside:avoid;padding:.1rem 0}
nav h3{margin:1.25rem 0 .25rem;font-size:1rem}
figure{margin:.75rem 0;overflow-x:auto}
figure svg{display:block;max-width:100%;height:auto}
figure svg text{font-family:inherit}
svg a:hover text{text-decoration:underline}
svg a:focus-visible text{text-decoration:underline}
footer{border-top:1px solid var(--rule);margin-top:4rem;padding:1rem 1.5rem 3rem;color:var(--muted)}
@media (max-width:40rem){nav ul{columns:1}}
"""

_PRINT = """
@page{margin:16mm 15mm}
html{font-size:8.5pt}
body{line-height:1.32}
header,main,footer{max-width:none;padding:0}
.skip{display:none}
a{color:inherit;text-decoration:none}
h1,h2,h3,h4,h5{break-after:avoid}
h2{break-before:page;margin-top:0}
article{padding:.5rem 0 .6rem}
article,figure,tr,li,.box{break-inside:avoid}
thead{display:table-header-group}
th,td{padding-top:.1rem;padding-bottom:.1rem}
.part{margin:.5rem 0 .1rem}
p,ul,.box{margin-top:.15rem;margin-bottom:.15rem}
.source{margin-top:.3rem}
p,li{orphans:3;widows:3}
#findings{columns:2;column-gap:9mm}
#findings>h2{column-span:all}
#complaints article+article{break-before:page}
#overview figure svg{max-height:22cm}
figure svg{max-height:25cm;margin:0 auto}
"""
