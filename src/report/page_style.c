/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_style.h"

static const char style[] =
    ":root{--ground:#fbfaf7;--card:#ffffff;--ink:#22201d;--soft:#5c5750;--rule:#d8d2c8;"
    "--hold:#cfdbe3;--line:#1f4e79;--warm:#8a3b12}\n"
    "@media (prefers-color-scheme:dark){:root{--ground:#191817;--card:#232120;--ink:#efebe4;"
    "--soft:#b5aea4;--rule:#47423c;--hold:#34495a;--line:#9cc7ea;--warm:#f0a878}}\n"
    "@media print{:root{--ground:#ffffff;--card:#ffffff;--ink:#000000;--soft:#444444;"
    "--rule:#bbbbbb;--hold:#dddddd;--line:#000000;--warm:#000000}}\n"
    "*{box-sizing:border-box}\n"
    "html{color-scheme:light dark}\n"
    "body{margin:0;background:var(--ground);color:var(--ink);"
    "font:16px/1.5 system-ui,sans-serif}\n"
    "main,footer{max-width:72rem;margin:0 auto;padding:0 1rem}\n"
    "header{padding-top:1.5rem}footer{padding-bottom:2rem;color:var(--soft)}\n"
    "h1{font-size:1.6rem;line-height:1.2;margin:0 0 .3rem;overflow-wrap:anywhere}\n"
    "h2{font-size:1.2rem;margin:2rem 0 .5rem}h3{font-size:1rem;margin:0}\n"
    "p,ul{margin:.4rem 0;max-width:46rem}ul{padding-left:1.2rem}\n"
    "a{color:var(--line)}a:focus-visible,[tabindex]:focus-visible{outline:3px solid "
    "var(--line);outline-offset:2px}\n"
    ".card{background:var(--card);border:1px solid var(--rule);border-radius:4px;"
    "padding:.8rem 1rem;margin:.8rem 0}\n"
    ".soft{color:var(--soft)}\n"
    ".draws{list-style:none;padding:0;max-width:none;margin:0}\n"
    ".draws>li{border-top:1px solid var(--rule);padding:.5rem 0}\n"
    ".top{display:flex;flex-wrap:wrap;gap:.1rem 1rem;align-items:baseline}\n"
    ".said{border-left:4px double var(--warm);margin:.2rem 0;padding:0 0 0 .6rem;"
    "list-style:none}\n"
    ".code{font-weight:600}\n"
    ".key{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;align-items:center;padding:0;"
    "list-style:none;max-width:none;color:var(--soft);font-size:.9rem}\n"
    ".key li{display:flex;align-items:center}\n"
    ".key svg{width:2.6rem;height:1.2rem;vertical-align:middle;margin-right:.4rem}\n"
    ".pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(26rem,100%),1fr));"
    "gap:0 1rem}\n"
    ".pair>:only-child{grid-column:1/-1}.wide{overflow-x:auto}\n"
    "figure{margin:.8rem 0}figcaption{color:var(--soft);margin-bottom:.5rem}\n"
    "@media (min-width:64rem){.draws>li{display:grid;grid-template-columns:19rem 1fr;"
    "gap:0 1rem;align-items:start}.draws>li>.top{grid-row:span 2}"
    ".draws>li>.said{grid-column:2}.axis-head{"
    "margin-left:20rem}.top>h3{min-width:100%}}\n"
    "@media (max-width:40rem){.draws .phase{display:none}}\n"
    "table{border-collapse:collapse;font-variant-numeric:tabular-nums;font-size:.9rem}\n"
    "th,td{padding:.2rem .6rem;text-align:right;white-space:nowrap;"
    "border-bottom:1px solid var(--rule)}\n"
    "th{font-weight:600}thead th{vertical-align:bottom}\n"
    "th:first-child{text-align:left;position:sticky;left:0;background:var(--card)}\n"
    ".stack td.two span{white-space:nowrap}\n"
    "svg{overflow:hidden;display:block}svg svg{display:inline}\n"
    "svg.free{overflow:visible}\n"
    "svg.plot{overflow:visible}\n"
    "svg text{fill:var(--ink);font:12px system-ui,sans-serif}\n"
    "svg .tick,svg .name{fill:var(--soft)}\n"
    "svg .phase{paint-order:stroke;stroke:var(--card);stroke-width:3px;stroke-linejoin:round}\n"
    ".grid{stroke:var(--rule);stroke-width:1}.axis{stroke:var(--soft);stroke-width:1}\n"
    ".draw{fill:url(#hatch);stroke:var(--ink);stroke-width:1}\n"
    ".hold{fill:var(--hold);stroke:var(--ink);stroke-width:1}\n"
    ".doubt{stroke:var(--ink);stroke-width:2}\n"
    ".click{stroke:var(--ink);stroke-width:2}\n"
    ".release{stroke:var(--ink);stroke-width:4}\n"
    ".limit{stroke:var(--warm);stroke-width:1.5;stroke-dasharray:7 4}\n"
    ".median{stroke:var(--ink);stroke-width:3}\n"
    ".filled{fill:var(--line);stroke:var(--card);stroke-width:1}\n"
    ".hollow{fill:var(--card);stroke:var(--line);stroke-width:2}\n"
    ".mark.filled{fill:var(--ink)}.mark.hollow{stroke:var(--ink)}\n"
    ".dot{opacity:.55}\n"
    ".curve{fill:none;stroke:var(--line);stroke-width:1;opacity:.6;"
    "vector-effect:non-scaling-stroke}\n"
    ".curve-marked{fill:none;stroke:var(--warm);stroke-width:1.6;stroke-dasharray:5 3;"
    "vector-effect:non-scaling-stroke}\n"
    ".curve-middle{fill:none;stroke:var(--ink);stroke-width:3;"
    "vector-effect:non-scaling-stroke}\n";

/* A row of many figures that a narrow screen shows one below the other, named. */
static const char stack[] =
    "@media screen and (max-width:64rem){table.stack,.stack tbody{display:block}"
    ".stack thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}"
    ".stack tr{display:grid;grid-template-columns:repeat(auto-fill,minmax(8.2rem,1fr));"
    "gap:.1rem .8rem;align-items:end;border-bottom:1px solid var(--rule);padding:.4rem 0}"
    ".stack tr:has(+tr.note){border-bottom:0;padding-bottom:0}"
    ".stack th,.stack td{border:0;padding:0;text-align:left;white-space:normal}"
    ".stack tr.note span{position:static;max-width:none}"
    ".stack th,.stack td[colspan]{grid-column:1/-1}"
    ".stack td[data-label]::before{content:attr(data-label);display:block;"
    "color:var(--soft);font-size:.8rem;line-height:1.2}}\n";

static const char print[] =
    "@page{margin:14mm 12mm}\n"
    "@media print{html{color-scheme:light}body{font-size:10pt}"
    "main,footer{max-width:none;padding:0 8px}main>header{padding:0}"
    "p,ul,figcaption{max-width:none;orphans:3;widows:3}h2{margin-top:1.2rem}"
    ".pair{grid-template-columns:1fr 1fr}.card{border:0;padding:0}"
    ".draws>li,.said>li,figure,.plot,tr,li,main>section:last-of-type{break-inside:avoid}"
    "h1,h2,h3,.key,figcaption,h2+p,h2+p+.key,.axis-head{break-after:avoid}"
    "thead{display:table-header-group}.wide{overflow:visible}"
    "table{font-size:7pt}th,td{padding:.1rem .25rem}thead th{white-space:normal}"
    "td.two span{white-space:nowrap}th:first-child{position:static}"
    "a{color:inherit;text-decoration:none}"
    "svg{max-width:100%;print-color-adjust:exact;-webkit-print-color-adjust:exact}}\n";

static const char textures[] =
    "<svg width=\"0\" height=\"0\" aria-hidden=\"true\" style=\"position:absolute\"><defs>"
    "<pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" "
    "patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" "
    "style=\"fill:var(--card)\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" "
    "style=\"stroke:var(--soft);stroke-width:2\"/></pattern></defs></svg>\n";

const char *sh_page_style_get(void)
{
    return style;
}

const char *sh_page_style_get_stack(void)
{
    return stack;
}

const char *sh_page_style_get_print(void)
{
    return print;
}

const char *sh_page_style_get_textures(void)
{
    return textures;
}
