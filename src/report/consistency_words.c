/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_words.h"

#include <math.h>

#include "base/text.h"
#include "report/score_words.h"

#define PER_CENT    100.0
#define TEN         10.0
#define MARKS_SHOWN 8u

/* A sentence in the making. */
struct speaker {
    const struct sh_consistency_sheet *sheet;
    const struct sh_consistency_study *study;
    const struct sh_consistency_words_sink *sink;
    struct sh_text words;
    enum sh_status status;
};

static const int decimals[SH_CONSISTENCY_MEASURES] = {
    [SH_CONSISTENCY_HOLD] = 2,  [SH_CONSISTENCY_SETUP] = 1,  [SH_CONSISTENCY_REACTION] = 3,
    [SH_CONSISTENCY_CREEP] = 2, [SH_CONSISTENCY_TREMOR] = 3,
};

int sh_consistency_words_get_decimals(enum sh_consistency_measure measure)
{
    return (unsigned)measure < SH_CONSISTENCY_MEASURES ? decimals[measure] : 0;
}

static const struct sh_consistency_kind *get_kind(size_t m)
{
    return sh_consistency_set_get_kind((enum sh_consistency_measure)m);
}

static void end_sentence(struct speaker *speaker)
{
    if (speaker->status == SH_OK) {
        speaker->status = speaker->words.status;
    }
    if (speaker->status == SH_OK) {
        speaker->status = speaker->sink->take(speaker->sink->context, speaker->words.data);
    }
    sh_text_reset(&speaker->words);
}

static void put_figure(struct speaker *speaker,
                       const struct sh_consistency_figure *figure,
                       double factor,
                       int n_decimals,
                       const char *symbol)
{
    sh_text_printf(&speaker->words, "%.*f %s", n_decimals, factor * figure->value, symbol);
    if (figure->has_interval) {
        sh_text_printf(&speaker->words, " (%.*f to %.*f)", n_decimals, factor * figure->lo,
                       n_decimals, factor * figure->hi);
    }
}

static void say_size(struct speaker *speaker, size_t m)
{
    const struct sh_consistency *steady = &speaker->study->steady[m];
    const struct sh_consistency_kind *kind = get_kind(m);
    if (!steady->mean.is_known) {
        sh_text_printf(&speaker->words, "The %s: fewer than two arrows show it.", kind->title);
        end_sentence(speaker);
        return;
    }
    sh_text_printf(&speaker->words, "The %s is ", kind->title);
    put_figure(speaker, &steady->mean, 1.0, decimals[m], kind->symbol);
    sh_text_puts(&speaker->words, " on average and scatters by ");
    put_figure(speaker, &steady->sd, 1.0, decimals[m], kind->symbol);
    if (steady->cv_ratio.is_known) {
        sh_text_puts(&speaker->words, ", ");
        put_figure(speaker, &steady->cv_ratio, PER_CENT, 0, "%");
        sh_text_puts(&speaker->words, " of it");
    }
    sh_text_printf(&speaker->words, ": %zu arrows of %zu ends.", steady->column.n,
                   steady->column.n_ends);
    if (!steady->mean.has_interval) {
        sh_text_printf(&speaker->words, " Fewer than %u ends, or ends all alike: no interval.",
                       SH_CONSISTENCY_ENDS_MIN);
    }
    end_sentence(speaker);
}

static void say_parts(struct speaker *speaker, size_t m)
{
    const struct sh_consistency *steady = &speaker->study->steady[m];
    const struct sh_consistency_kind *kind = get_kind(m);
    if (!steady->has_parts) {
        return;
    }
    sh_text_printf(&speaker->words, "Within an end the %s scatters by %.*f %s", kind->title,
                   decimals[m], steady->parts.within_sd, kind->symbol);
    if (steady->parts.is_cut) {
        sh_text_puts(&speaker->words, "; ends do not differ by more than that explains.");
    } else {
        sh_text_printf(&speaker->words, ", from end to end by %.*f %s more (p = %.2g).",
                       decimals[m], sqrt(steady->parts.between_variance), kind->symbol,
                       steady->parts.p);
    }
    end_sentence(speaker);
}

/* How a difference is called: times and forces. */
static const char *get_word(size_t m, double difference)
{
    const bool is_time = m <= SH_CONSISTENCY_REACTION;
    if (difference < 0.0) {
        return is_time ? "shorter" : "smaller";
    }
    return is_time ? "longer" : "larger";
}

/* "0.40 s shorter (0.20 to 0.60)" */
static void put_difference(struct speaker *speaker,
                           const struct sh_clock_effect *effect,
                           size_t m,
                           double factor)
{
    const bool is_less = effect->difference < 0.0;
    const double scale = is_less ? -factor : factor;
    sh_text_printf(&speaker->words, "%.*f %s %s (%.*f to %.*f)", decimals[m],
                   scale * effect->difference, get_kind(m)->symbol,
                   get_word(m, effect->difference), decimals[m],
                   scale * (is_less ? effect->hi : effect->lo), decimals[m],
                   scale * (is_less ? effect->lo : effect->hi));
}

static void put_arrows(struct speaker *speaker, const struct sh_clock_effect *effect)
{
    if (effect->first_number == effect->last_number) {
        sh_text_printf(&speaker->words, "arrow %u", effect->first_number);
    } else {
        sh_text_printf(&speaker->words, "arrows %u to %u", effect->first_number,
                       effect->last_number);
    }
}

static void say_clock(struct speaker *speaker, size_t m)
{
    const struct sh_clock_effect *effect = &speaker->study->clock[m];
    const struct sh_consistency_kind *kind = get_kind(m);
    if (effect->why != SH_CLOCK_EFFECT_KNOWN) {
        return;
    }
    if (sh_clock_effect_is_seen(effect)) {
        sh_text_printf(&speaker->words, "Under the clock the %s of ", kind->title);
        put_arrows(speaker, effect);
        sh_text_puts(&speaker->words, " was ");
        put_difference(speaker, effect, m, 1.0);
        sh_text_printf(&speaker->words, " than without it: %zu ends against %zu.",
                       effect->n_clocked, effect->n_free);
    } else {
        sh_text_printf(&speaker->words,
                       "The clock makes no difference to the %s that %zu ends under it and "
                       "%zu without could show; one of %.*f %s would have been seen four times "
                       "in five.",
                       kind->title, effect->n_clocked, effect->n_free, decimals[m],
                       effect->visible, kind->symbol);
        if (effect->n_needed > (double)(effect->n_clocked + effect->n_free)) {
            sh_text_printf(&speaker->words, " To see a tenth of the mean, %.0f ends in all.",
                           effect->n_needed);
        }
    }
    end_sentence(speaker);
}

/* Why nothing is said about the clock; once, of the hold. */
static void say_no_clock(struct speaker *speaker)
{
    static const char *const texts[] = {
        [SH_CLOCK_EFFECT_KNOWN] = NULL,
        [SH_CLOCK_EFFECT_NO_PAIR] =
            "Clocked and free shooting are not compared: no recording holds both, with the "
            "same arrows of an end. Between recordings the day cannot be told from the clock.",
        [SH_CLOCK_EFFECT_FEW] =
            "Clocked and free shooting are not compared: too few ends hold both.",
        [SH_CLOCK_EFFECT_CONFUSED] =
            "Clocked and free shooting are not compared: their order in the session cannot be "
            "told from the clock.",
        [SH_CLOCK_EFFECT_STILL] =
            "Clocked and free shooting are not compared: nothing scatters.",
    };
    const char *text = texts[speaker->study->clock[SH_CONSISTENCY_HOLD].why];
    if (text != NULL) {
        sh_text_puts(&speaker->words, text);
        end_sentence(speaker);
    }
}

static void say_changes(struct speaker *speaker, size_t m)
{
    const struct sh_clock_effect *last = &speaker->study->last[m];
    const struct sh_clock_effect *trend = &speaker->study->per_arrow[m];
    if (sh_clock_effect_is_seen(last)) {
        sh_text_printf(&speaker->words, "At the last arrow of an end the %s was ",
                       get_kind(m)->title);
        put_difference(speaker, last, m, 1.0);
        sh_text_puts(&speaker->words, " than at the first.");
        end_sentence(speaker);
    }
    if (sh_clock_effect_is_seen(trend)) {
        sh_text_printf(&speaker->words, "Over the session the %s became ", get_kind(m)->title);
        put_difference(speaker, trend, m, TEN);
        sh_text_puts(&speaker->words, " every ten arrows.");
        end_sentence(speaker);
    }
}

/* Where nothing changes, once for all measures. */
static void say_unchanged(struct speaker *speaker)
{
    bool has_last = false;
    bool has_trend = false;
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        has_last = has_last || sh_clock_effect_is_seen(&speaker->study->last[m]);
        has_trend = has_trend || sh_clock_effect_is_seen(&speaker->study->per_arrow[m]);
    }
    if (!has_last) {
        sh_text_puts(&speaker->words, "Between the first arrow of an end and its last there is "
                                      "no difference that these ends could show.");
        end_sentence(speaker);
    }
    if (!has_trend) {
        sh_text_puts(&speaker->words,
                     "Over the session there is no change that these ends could show.");
        end_sentence(speaker);
    }
}

static void say_slope(struct speaker *speaker)
{
    const struct sh_consistency_figure *slope = &speaker->study->hold_per_second;
    if (!slope->has_interval) {
        return;
    }
    if (slope->lo > 0.0 || slope->hi < 0.0) {
        sh_text_printf(
            &speaker->words,
            "With ten seconds less on the clock the hold of the same arrow of an end "
            "was %.2f s %s (%.2f to %.2f).",
            TEN * fabs(slope->value), slope->value > 0.0 ? "shorter" : "longer",
            TEN * fmin(fabs(slope->lo), fabs(slope->hi)),
            TEN * fmax(fabs(slope->lo), fabs(slope->hi)));
    } else {
        sh_text_printf(&speaker->words,
                       "How much is left on the clock makes no difference to the hold of the "
                       "same arrow that these ends could show (ten seconds: %.2f to %.2f s).",
                       TEN * slope->lo, TEN * slope->hi);
    }
    end_sentence(speaker);
}

static void say_survival(struct speaker *speaker)
{
    const struct sh_hold_survival *survival = &speaker->study->survival;
    const struct sh_consistency_set *set = speaker->study->set;
    sh_text_printf(&speaker->words, "Let-downs: %zu of %zu draws; overruns of the clock: %zu.",
                   set->n_let_downs, set->n_rows, set->n_overruns);
    if (survival->has_median && survival->n_let_down > 0) {
        sh_text_printf(&speaker->words,
                       " A let-down taken as a hold that would have gone on, half are "
                       "released within %.2f s",
                       survival->median_s);
        if (survival->has_lo && survival->has_hi) {
            sh_text_printf(&speaker->words, " (%.2f to %.2f)", survival->lo_s, survival->hi_s);
        }
        sh_text_puts(&speaker->words, ". In all other figures let-downs are left out.");
    }
    end_sentence(speaker);
}

static void put_marks(struct speaker *speaker, const struct sh_consistency *steady)
{
    size_t n_marks = 0;
    for (size_t i = 0; i < steady->column.n; i++) {
        const struct sh_consistency_row *row =
            &speaker->study->set->rows[steady->column.row[i]];
        if (steady->marks[i] != 0 && ++n_marks <= MARKS_SHOWN) {
            sh_text_printf(&speaker->words, "%s%s draw %u", n_marks > 1 ? ", " : " ",
                           row->recording < speaker->sheet->n_recordings
                               ? speaker->sheet->recordings[row->recording]
                               : "",
                           row->n);
        }
    }
    if (n_marks > MARKS_SHOWN) {
        sh_text_printf(&speaker->words, " and %zu more", n_marks - MARKS_SHOWN);
    }
    sh_text_puts(&speaker->words, n_marks == 0 ? " none." : ".");
}

static void say_chart(struct speaker *speaker, size_t m)
{
    const struct sh_consistency *steady = &speaker->study->steady[m];
    const struct sh_consistency_kind *kind = get_kind(m);
    if (!steady->has_chart) {
        return;
    }
    const double lower = kind->is_log ? exp(steady->chart.lower) : steady->chart.lower;
    const double upper = kind->is_log ? exp(steady->chart.upper) : steady->chart.upper;
    sh_text_printf(&speaker->words, "Chart of the %s%s, ", kind->title,
                   kind->is_log ? " by its logarithm" : "");
    if (lower > 0.0) {
        sh_text_printf(&speaker->words, "limits %.*f and ", decimals[m], lower);
    } else {
        sh_text_puts(&speaker->words, "limit ");
    }
    sh_text_printf(&speaker->words, "%.*f %s; marked:", decimals[m], upper, kind->symbol);
    put_marks(speaker, steady);
    end_sentence(speaker);
}

static void say_rules(struct speaker *speaker)
{
    sh_text_puts(&speaker->words, "A chart's rules, with the share of a steady archer's arrows "
                                  "that each marks all the same: ");
    const char *between = "";
    for (unsigned rule = 0; rule < SH_RUN_RULES_N; rule++) {
        if ((speaker->study->config.rules & SH_RUN_RULE_BIT(rule)) != 0) {
            sh_text_printf(&speaker->words, "%s%s (%.2g %%)", between,
                           sh_run_rules_text((enum sh_run_rule)rule),
                           PER_CENT * sh_run_rules_get_false_alarm((enum sh_run_rule)rule));
            between = "; ";
        }
    }
    sh_text_puts(&speaker->words, ".");
    end_sentence(speaker);
}

/* Ends a sentence that was made elsewhere, where there is one. */
static void end_if_said(struct speaker *speaker)
{
    if (speaker->words.n_bytes > 0 || speaker->words.status != SH_OK) {
        end_sentence(speaker);
    }
}

static void say_link(struct speaker *speaker, size_t m)
{
    sh_score_words_put_link(speaker->study, (enum sh_consistency_measure)m, &speaker->words);
    end_if_said(speaker);
}

static void say_odds(struct speaker *speaker, size_t m)
{
    sh_score_words_put_odds(speaker->study, (enum sh_consistency_measure)m, decimals[m],
                            &speaker->words);
    end_if_said(speaker);
}

static void say_score(struct speaker *speaker)
{
    sh_score_words_put_basis(speaker->study, &speaker->words);
    end_if_said(speaker);
    sh_score_words_put_caution(speaker->study, &speaker->words);
    end_if_said(speaker);
}

/* Says one thing of each measure; of those that are not known, where all are asked for. */
static void
say_measures(struct speaker *speaker, void (*say)(struct speaker *, size_t), bool is_of_all)
{
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        if (is_of_all || speaker->study->steady[m].mean.is_known) {
            say(speaker, m);
        }
    }
}

enum sh_status sh_consistency_words_each(const struct sh_consistency_sheet *sheet,
                                         const struct sh_consistency_words_sink *sink)
{
    static void (*const parts[])(struct speaker *, size_t) = {
        say_size, say_parts, say_chart, say_changes, say_clock, say_link, say_odds};
    struct speaker speaker = {.sheet = sheet, .study = sheet->study, .sink = sink};
    sh_text_init(&speaker.words, 0);
    for (size_t part = 0; part < sizeof parts / sizeof parts[0]; part++) {
        say_measures(&speaker, parts[part], part == 0);
    }
    say_unchanged(&speaker);
    say_no_clock(&speaker);
    say_slope(&speaker);
    say_survival(&speaker);
    say_score(&speaker);
    say_rules(&speaker);
    sh_text_close(&speaker.words);
    return speaker.status;
}
