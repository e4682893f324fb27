/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_csv.h"

#include "measure/catalog.h"

enum sh_status sh_comparison_csv_write(const struct sh_comparison_sheet *sheet,
                                       struct sh_text *text)
{
    sh_text_puts(text, "measure,part,way,arrows_1,arrows_2,observations_1,observations_2,"
                       "mean_1,mean_2,shift,u,lo,hi,reach_of_all,p,p_of_all,p_least,sd,visible,"
                       "change_least,needed,hidden,seen\r\n");
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        const struct sh_comparison_kind *kind = sh_comparison_get_kind(k);
        const struct sh_before_after *figure = &sheet->comparison->figure[k];
        char key[SH_CATALOG_KEY_BYTES];
        sh_catalog_key(kind->measure, SH_CATALOG_VALUE, key);
        sh_text_printf(text, "%s,", key);
        if (sh_catalog_get_parts(kind->measure) > 1) {
            sh_text_printf(text, "%zu", kind->part + 1);
        }
        sh_text_printf(text, ",%s,%zu,%zu,%zu,%zu", sh_comparison_get_way_name(figure->way),
                       figure->n_arrows[0], figure->n_arrows[1], figure->n_observations[0],
                       figure->n_observations[1]);
        if (figure->why != SH_BEFORE_AFTER_KNOWN) {
            sh_text_puts(text, ",,,,,,,,,,,,,,,0,0\r\n");
            continue;
        }
        sh_text_printf(
            text, ",%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,",
            figure->mean[0], figure->mean[1], figure->shift, figure->u, figure->lo, figure->hi,
            figure->reach_of_all, figure->p, figure->p_of_all, figure->p_least, figure->sd);
        if (figure->visible > 0.0) {
            sh_text_printf(text, "%.17g", figure->visible);
        }
        sh_text_puts(text, ",");
        if (figure->way == SH_BEFORE_AFTER_SESSIONS) {
            sh_text_printf(text, "%.17g", figure->change_least);
        }
        sh_text_puts(text, ",");
        if (figure->n_needed > 0.0) {
            sh_text_printf(text, "%.0f", figure->n_needed);
        }
        sh_text_printf(text, ",%d,%d\r\n", figure->is_hidden ? 1 : 0,
                       sh_before_after_is_seen(figure) ? 1 : 0);
    }
    return text->status;
}
