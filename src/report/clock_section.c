/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/clock_section.h"

#include <stdlib.h>

#include "report/clock_sentence.h"
#include "report/figure.h"

static unsigned find_most_arrows(const struct sh_analysis *analysis,
                                 const struct sh_clock_draw *draws)
{
    unsigned n = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n = draws[i].arrow > n ? draws[i].arrow : n;
    }
    return n;
}

static void write_head(struct sh_text *text, unsigned n_arrows)
{
    sh_text_puts(text, "<div class=\"wide card\" tabindex=\"0\" role=\"region\" "
                       "aria-label=\"Seconds left by arrow\"><table>\n"
                       "<thead><tr><th scope=\"col\">clock</th>");
    for (unsigned arrow = 1; arrow <= n_arrows; arrow++) {
        sh_text_printf(
            text, "<th scope=\"col\">arrow %u<br/><span class=\"soft\">s</span></th>", arrow);
    }
    sh_text_puts(text, "</tr></thead>\n<tbody>\n");
}

static void
write_cell(struct sh_text *text, const struct sh_shot_record *record, size_t recording)
{
    const struct sh_quantity *left =
        sh_catalog_get(&record->measures, SH_MEASURE_TIME_LEFT_RELEASE, 0);
    sh_text_printf(text, "<td><a href=\"#draw-%zu-%u\">", recording, record->shot.n);
    char figure[SH_FIGURE_BYTES];
    sh_figure_format(left, 1.0, figure);
    sh_text_printf(text, "%s</a></td>", figure);
}

static void write_sentences(struct sh_text *text,
                            const struct sh_analysis *analysis,
                            const struct sh_clock_draw *draws)
{
    bool is_begun = false;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        char sentence[SH_CLOCK_SENTENCE_BYTES];
        if (sh_clock_sentence_format(&analysis->shots[i], &draws[i], sentence)) {
            sh_text_printf(text, "%s<li>%s</li>\n", is_begun ? "" : "<ul>\n", sentence);
            is_begun = true;
        }
    }
    sh_text_puts(text, is_begun ? "</ul>\n" : "");
}

static void write_rows(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       const struct sh_clock_draw *draws,
                       size_t recording)
{
    unsigned clock = 0; /* whose row is open */
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (draws[i].arrow == 0) {
            continue;
        }
        if (draws[i].clock != clock) {
            sh_text_printf(text, "%s<tr><th scope=\"row\">%u</th>", clock > 0 ? "</tr>\n" : "",
                           draws[i].clock);
            clock = draws[i].clock;
        }
        write_cell(text, &analysis->shots[i], recording);
    }
    sh_text_puts(text, clock > 0 ? "</tr>\n" : "");
}

void sh_clock_section_write(struct sh_text *text,
                            const struct sh_analysis *analysis,
                            size_t recording)
{
    struct sh_clock_draw *draws = calloc(analysis->n_shots + 1, sizeof *draws);
    if (draws == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        return;
    }
    if (sh_clock_draw_find_all(analysis, draws) > 0) {
        sh_text_puts(text, "<section><h2>Seconds left at the release</h2>\n");
        write_head(text, find_most_arrows(analysis, draws));
        write_rows(text, analysis, draws, recording);
        sh_text_puts(text, "</tbody></table></div>\n");
        write_sentences(text, analysis, draws);
        sh_text_puts(text, "</section>\n");
    }
    free(draws);
}
