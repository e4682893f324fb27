/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/team_csv.h"

#include "report/csv_text.h"

static void put_figure(struct sh_text *text, const struct sh_team_chance_figure *figure)
{
    sh_text_printf(text, ",%.17g,%.17g,%.17g", figure->value, figure->lo, figure->hi);
}

static void put_row(const struct sh_team_sheet *sheet,
                    const struct sh_team_chance *chance,
                    const struct sh_team_chance_order *order,
                    struct sh_text *text)
{
    sh_text_printf(text, "%zu", chance->plan.n_turn);
    for (size_t i = 0; i < sheet->n_archers; i++) {
        sh_text_puts(text, ",");
        sh_csv_text_put(text, sheet->archers[order->order.archer[i]].name);
    }
    put_figure(text, &order->chance);
    put_figure(text, &order->left_s);
    sh_text_printf(text, ",%.17g\r\n", order->low_s);
}

enum sh_status sh_team_csv_write(const struct sh_team_sheet *sheet, struct sh_text *text)
{
    sh_text_puts(text, "arrows_a_turn");
    for (size_t i = 1; i <= sheet->n_archers; i++) {
        sh_text_printf(text, ",archer_%zu", i);
    }
    sh_text_puts(text, ",chance,chance_lo,chance_hi,left_s,left_lo_s,left_hi_s,"
                       "left_in_19_of_20_s\r\n");
    for (size_t i = 0; i < sheet->n_chances; i++) {
        const struct sh_team_chance *chance = &sheet->chances[i];
        for (size_t order = 0; order < chance->n_orders; order++) {
            put_row(sheet, chance, &chance->orders[order], text);
        }
    }
    return text->status;
}
