/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/team_table.h"

#include <math.h>

#include "report/analysis_table.h"
#include "report/paragraph.h"
#include "report/team_words.h"

#define COLUMNS SH_ANALYSIS_TABLE_COLUMNS

/* Breaks the words into lines and empties them. */
static void put_words(struct sh_text *text, const char *lead, struct sh_text *words)
{
    struct sh_paragraph paragraph;
    if (text->status == SH_OK) {
        text->status = words->status;
    }
    sh_paragraph_init(&paragraph, text, COLUMNS, lead, 2);
    sh_paragraph_put(&paragraph, words->data != NULL ? words->data : "");
    sh_paragraph_end(&paragraph);
    sh_text_reset(words);
}

static enum sh_status take_sentence(void *context, const char *sentence)
{
    struct sh_text *text = context;
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, COLUMNS, "- ", 2);
    sh_paragraph_put(&paragraph, sentence);
    sh_paragraph_end(&paragraph);
    return text->status;
}

static void
put_head(const struct sh_team_sheet *sheet, struct sh_text *text, struct sh_text *words)
{
    const struct sh_team_plan_order order = {{0, 1, 2, 3}};
    const struct sh_team_plan *plan = &sheet->chances[0].plan;
    sh_text_puts(words, "The team of ");
    sh_team_words_put_order(words, sheet, &order);
    sh_text_printf(words, ": %zu arrows in %g s (%s).", plan->n_arrows * plan->n_archers,
                   plan->shooting_s, sheet->round);
    put_words(text, "", words);
    sh_text_puts(text, "\n");
}

static void put_order(const struct sh_team_sheet *sheet,
                      const struct sh_team_chance *chance,
                      const struct sh_team_chance_order *order,
                      struct sh_text *text,
                      struct sh_text *words)
{
    sh_team_words_put_order(words, sheet, &order->order);
    sh_text_puts(words, ": ");
    sh_team_words_put_chance(words, &order->chance);
    sh_text_puts(words, ", left ");
    sh_team_words_put_time(words, &order->left_s);
    sh_text_puts(words, ". By turns:");
    for (size_t turn = 0; turn < sh_team_plan_get_turns(&chance->plan); turn++) {
        const struct sh_team_chance_turn *at = &order->turns[turn];
        sh_text_printf(words, "%s %s %ld to %ld", turn > 0 ? "," : "",
                       sheet->archers[at->archer].name, lrint(at->begins_s), lrint(at->ends_s));
    }
    put_words(text, "", words);
}

enum sh_status sh_team_table_write(const struct sh_team_sheet *sheet, struct sh_text *text)
{
    struct sh_text words;
    const struct sh_team_words_sink sink = {take_sentence, text};
    sh_text_init(&words, 0);
    put_head(sheet, text, &words);
    const enum sh_status status = sh_team_words_each(sheet, &sink);
    for (size_t i = 0; i < sheet->n_chances; i++) {
        const struct sh_team_chance *chance = &sheet->chances[i];
        sh_text_printf(text,
                       "\nturns of %zu: in time, s left at the end, s left from turn to turn\n",
                       chance->plan.n_turn);
        for (size_t order = 0; order < chance->n_orders; order++) {
            put_order(sheet, chance, &chance->orders[order], text, &words);
        }
    }
    const struct sh_team_chance_config *config = &sheet->chances[0].config;
    sh_text_puts(text, "\n");
    sh_text_printf(&words,
                   "In brackets: 95 %% intervals, of the simulation and of having seen so few "
                   "ends: %zu ends simulated, then the recordings' ends drawn afresh %zu times "
                   "and %zu simulated from each, seed %llu.",
                   config->n_runs, config->n_redraws, config->n_inner,
                   (unsigned long long)config->seed);
    put_words(text, "", &words);
    sh_text_close(&words);
    return status == SH_OK ? text->status : status;
}
