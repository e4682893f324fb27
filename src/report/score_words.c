/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/score_words.h"

#include <math.h>

static bool has_links(const struct sh_consistency_study *study)
{
    bool has = false;
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        has = has || study->links[m].is_known;
    }
    return has;
}

void sh_score_words_put_link(const struct sh_consistency_study *study,
                             enum sh_consistency_measure measure,
                             struct sh_text *text)
{
    const struct sh_score_link *link = &study->links[measure];
    const char *title = sh_consistency_set_get_kind(measure)->title;
    if (!link->is_known) {
        return;
    }
    if (sh_score_link_is_seen(link)) {
        sh_text_printf(text,
                       "A %s score goes with a larger %s: rank correlation %.2f (%.2f to "
                       "%.2f), %zu arrows.",
                       link->spearman.value > 0.0 ? "higher" : "lower", title,
                       link->spearman.value, link->spearman.lo, link->spearman.hi, link->n);
    } else {
        sh_text_printf(
            text,
            "Score and %s: nothing that %zu arrows could show; a rank correlation of "
            "%.2f would have been seen four times in five.",
            title, link->n, link->visible);
    }
}

void sh_score_words_put_odds(const struct sh_consistency_study *study,
                             enum sh_consistency_measure measure,
                             int decimals,
                             struct sh_text *text)
{
    const struct sh_score_odds_term *term = &study->odds.term[measure];
    const struct sh_consistency_kind *kind = sh_consistency_set_get_kind(measure);
    if (study->odds.why != SH_SCORE_ODDS_KNOWN || !term->is_in) {
        return;
    }
    if (sh_score_odds_is_seen(term)) {
        sh_text_printf(text,
                       "With the other measures the same, %.*f %s more %s (one SD) goes with "
                       "%.2f times the odds of a higher score (%.2f to %.2f).",
                       decimals, term->sd, kind->symbol, kind->title, term->ratio, term->lo,
                       term->hi);
    } else {
        sh_text_printf(
            text,
            "With the other measures the same, the %s goes with no difference of the "
            "score that these arrows could show: odds %.2f times for one SD (%.2f to "
            "%.2f); %.2f times would have been seen four times in five.",
            kind->title, term->ratio, term->lo, term->hi, term->visible);
    }
}

void sh_score_words_put_basis(const struct sh_consistency_study *study, struct sh_text *text)
{
    const struct sh_score_odds *odds = &study->odds;
    if (!has_links(study)) {
        return;
    }
    switch (odds->why) {
    case SH_SCORE_ODDS_KNOWN:
        sh_text_printf(
            text,
            "Odds: by the proportional-odds model, %zu arrows of %zu different scores "
            "that show all these measures.",
            odds->n, odds->n_levels);
        break;
    case SH_SCORE_ODDS_FEW:
        sh_text_printf(text,
                       "All measures together are not set beside the score: %zu arrows with a "
                       "score show them, %zu are needed.",
                       odds->n, odds->n_least);
        break;
    case SH_SCORE_ODDS_ALIKE:
        sh_text_puts(text,
                     "All measures together are not set beside the score: the arrows that "
                     "show them score alike.");
        break;
    case SH_SCORE_ODDS_LEVELS:
        sh_text_printf(text,
                       "All measures together are not set beside the score: more than %d "
                       "different scores.",
                       SH_ORDINAL_LEVELS_MAX);
        break;
    case SH_SCORE_ODDS_PARTED:
        sh_text_puts(text, "All measures together are not set beside the score: some go "
                           "together wholly, or they part the scores wholly.");
        break;
    }
}

void sh_score_words_put_caution(const struct sh_consistency_study *study, struct sh_text *text)
{
    if (!has_links(study)) {
        sh_text_printf(
            text,
            "The score is not set beside the measures: fewer than %u arrows have one "
            "of their own, or all score alike.",
            SH_SCORE_LINK_SHOTS_MIN);
        return;
    }
    sh_text_printf(
        text,
        "Timing explained about 8 %% of an arrow's distance from the centre in a "
        "published study (Callaway et al. 2017). A link as weak takes %.0f arrows to "
        "see",
        sh_score_link_get_needed(sqrt(SH_SCORE_LINK_PUBLISHED_RATIO)));
    if (study->odds.why == SH_SCORE_ODDS_KNOWN) {
        sh_text_printf(text, ", with all measures together %.0f", study->odds.n_needed);
    }
    sh_text_puts(text, ", and no link says what makes what.");
}
