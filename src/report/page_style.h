/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PAGE_STYLE_H
#define SH_REPORT_PAGE_STYLE_H

/*
 * The style sheet of the report's page, as the content of a <style> element: light, dark and
 * print. What matters is told by texture, shape and label first; all grounds and inks keep a
 * contrast of 4.5 or more (tests/report/test_page_style.c). Static.
 */
const char *sh_page_style_get(void);

/*
 * What is added to it for paper: margins, nothing wider than a sheet, no drawing or row parted
 * over two sheets, heads of tables again on each. Static. Tests:
 * tests/report/test_page_style.c, tests/web/test_print.mjs.
 */
const char *sh_page_style_get_print(void);

/*
 * What is added to it for tables of class "stack": on screens under 64 rem (1024 px) their rows
 * stand as blocks of named figures (cells' data-label) that need no scrolling sideways; rows of
 * class "note" stay with the row above. Static. Tests: tests/report/test_page_style.c,
 * tests/web/test_print.mjs.
 */
const char *sh_page_style_get_stack(void);

/* The textures that the style sheet's fills name, as an <svg> that takes no room. Static. */
const char *sh_page_style_get_textures(void);

#endif
