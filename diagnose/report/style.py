"""The look of the report's page: a careful engineer's note, dark ink on light paper."""

from diagnose.drawings.cutaway.paper import fault_style
from diagnose.handbook.style import LIGHT
from diagnose.report.paper import SHEETS, Paper


def report_style(paper: Paper) -> str:
    """Give the style sheet of the page, for a screen and for a sheet of paper."""
    tokens = "".join(f"--{name.replace('_', '-')}:{value};" for name, value in LIGHT.items())
    sheet = f"@page{{size:{SHEETS[paper].name};margin:18mm 20mm 20mm;{_PAGES}}}"
    return "\n".join(
        [
            f":root{{{tokens}color-scheme:light}}",
            _SCREEN.strip(),
            _SMALL,
            sheet,
            _PRINT,
        ]
    )


# Within each drawing, so that it has its colours wherever it is taken.
DRAWN_STYLE = fault_style(
    {
        **{role: LIGHT[role] for role in ("ink", "muted", "accent", "rule")},
        "card": LIGHT["surface"],
        "soft": LIGHT["accent_soft"],
        "fault": LIGHT["caution"],
    }
)

_PAGES = '@bottom-right{content:"Page " counter(page) " of " counter(pages);font-size:8.5pt}'

_SCREEN = """
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);
 font:11pt/1.4 "Atkinson Hyperlegible",system-ui,"Segoe UI",Roboto,Helvetica,Arial,sans-serif;
 font-variant-numeric:tabular-nums}
header,main,footer{max-width:44rem;margin:0 auto;padding:0 2rem;background:var(--surface)}
header{padding-top:2rem}
footer{padding-bottom:2rem;color:var(--muted)}
p,li,h1,h2,h3,td,th,figcaption{overflow-wrap:anywhere}
h1{font-size:18pt;line-height:1.2;margin:0 0 .3rem}
h2{font-size:13pt;line-height:1.25;margin:1.6rem 0 .4rem;padding-top:.5rem;
 border-top:1px solid var(--rule)}
h3{font-size:11pt;margin:1rem 0 .2rem}
p{margin:.3rem 0}
ul{margin:.3rem 0;padding-left:1.2rem}
li{margin:.15rem 0}
.head,.muted,.remark,figcaption{color:var(--muted);font-size:9.5pt}
.remark{display:block}
main>section{border-left:3px solid var(--accent);padding-left:.9rem;margin:1rem 0}
.headline{font-size:13pt;font-weight:bold}
.box{border:1px solid var(--caution);border-left-width:4px;border-radius:4px;padding:.3rem .7rem;
 background:var(--caution-soft)}
.box strong{color:var(--caution)}
.box.stop{border-color:var(--stop);background:var(--stop-soft)}
.box.stop strong{color:var(--stop)}
table{border-collapse:collapse;width:100%;table-layout:fixed;margin:.4rem 0}
th,td{text-align:left;vertical-align:top;padding:.2rem .8rem .2rem 0;
 border-bottom:1px solid var(--rule)}
thead th{color:var(--muted);font-size:9.5pt}
.named th{color:var(--muted);font-weight:normal}
figure{margin:.5rem 0}
figure svg{display:block;width:100%;height:auto}
figure svg text{font-family:inherit}
figure img{display:block;max-width:100%;max-height:10cm}
.gallery{display:grid;grid-template-columns:1fr 1fr;gap:0 1rem}
.blanks td,.blanks th{height:2.2rem;vertical-align:bottom}
.blanks th{width:36%}
"""

# A drawing goes on beyond the edge of a small screen: smaller, nobody could read it.
_SMALL = """@media screen and (max-width:40rem){
header,main,footer{padding-left:1rem;padding-right:1rem}
table{table-layout:auto}
col{width:auto!important}
th,td{overflow-wrap:break-word;padding-right:.5rem;font-size:10pt}
figure{overflow-x:auto}
figure svg{min-width:30rem}
.gallery{grid-template-columns:1fr}
}"""

_PRINT = """@media print{
body,header,main,footer{background:#FFFFFF}
header,main,footer{max-width:none;padding:0}
.box{background:#FFFFFF}
h1,h2,h3,thead,.keep{break-after:avoid}
figure,tr,li,.box,.blanks{break-inside:avoid}
thead{display:table-header-group}
p,li{orphans:2;widows:2}
}"""
