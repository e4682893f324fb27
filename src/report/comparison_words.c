/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_words.h"

#include <math.h>

#include "report/load_words.h"

/* Sentences on their way out. */
struct speech {
    const struct sh_comparison_sheet *sheet;
    const struct sh_comparison_words_sink *sink;
    struct sh_text text;
};

static enum sh_status utter(struct speech *speech)
{
    enum sh_status status = speech->text.status;
    if (status == SH_OK && speech->text.n_bytes > 0) {
        status = speech->sink->sentence(speech->sink->context, speech->text.data);
    }
    sh_text_reset(&speech->text);
    return status;
}

/* A figure in its unit, "0.12 s". */
static void put_size(struct sh_text *text, const struct sh_comparison_kind *kind, double size)
{
    sh_text_printf(text, "%.*f %s", kind->n_decimals, sh_comparison_round(kind, size),
                   kind->symbol);
}

/* " (0.12 to 0.30 s)", of a change's size on the side on which it lies. */
static void put_limits(struct sh_text *text,
                       const struct sh_comparison_kind *kind,
                       const struct sh_before_after *figure)
{
    const double sign = figure->shift < 0.0 ? -1.0 : 1.0;
    const double near = fmin(sign * figure->lo, sign * figure->hi);
    const double far = fmax(sign * figure->lo, sign * figure->hi);
    sh_text_printf(text, " (%.*f to %.*f)", kind->n_decimals, sh_comparison_round(kind, near),
                   kind->n_decimals, sh_comparison_round(kind, far));
}

static void say_seen(struct speech *speech,
                     const struct sh_comparison_kind *kind,
                     const struct sh_before_after *figure)
{
    const struct sh_comparison_sheet *sheet = speech->sheet;
    sh_text_printf(&speech->text, "%s: ", kind->title);
    put_size(&speech->text, kind, fabs(figure->shift));
    put_limits(&speech->text, kind, figure);
    sh_text_puts(&speech->text, figure->shift < 0.0 ? " less" : " more");
    sh_text_printf(&speech->text, " with %s than with %s", sheet->side[1], sheet->side[0]);
    sh_text_puts(&speech->text,
                 figure->way == SH_BEFORE_AFTER_TWO_SESSIONS
                     ? ". These two sessions differ; why cannot be told from one "
                       "session a side."
                     : ".");
}

static void say_masked(struct speech *speech,
                       const struct sh_comparison_kind *kind,
                       const struct sh_before_after *figure)
{
    sh_text_printf(&speech->text, "%s: moved by ", kind->title);
    put_size(&speech->text, kind, fabs(figure->shift));
    sh_text_puts(&speech->text,
                 ", which is no more than the calibrations of the two sides may be apart");
    sh_text_puts(&speech->text, figure->is_hidden ? "; more sessions would not tell." : ".");
}

/* Why figures are left out, in words; NULL: that goes without saying. */
static const char *get_reason(enum sh_before_after_why why)
{
    switch (why) {
    case SH_BEFORE_AFTER_FEW:
        return "one end a side shows no scatter; nothing is said.";
    case SH_BEFORE_AFTER_IN_ORDER:
        return "within the sessions one side was shot after the other. What changed with time "
               "and what with the side cannot be told apart; let the sides take turns end by "
               "end.";
    case SH_BEFORE_AFTER_STILL:
        return "all observations of a side are alike.";
    case SH_BEFORE_AFTER_NO_VALUES:
    case SH_BEFORE_AFTER_KNOWN:
        break;
    }
    return NULL;
}

/* All that are left out for one reason, in one sentence. */
static enum sh_status say_left_out(struct speech *speech, enum sh_before_after_why why)
{
    const char *reason = get_reason(why);
    const char *comma = "";
    for (size_t k = 0; k < SH_COMPARISON_KINDS && reason != NULL; k++) {
        if (speech->sheet->comparison->figure[k].why == why) {
            sh_text_printf(&speech->text, "%s%s", comma, sh_comparison_get_kind(k)->title);
            comma = ", ";
        }
    }
    if (comma[0] != '\0') {
        sh_text_printf(&speech->text, ": %s", reason);
    }
    return utter(speech);
}

static enum sh_status say_figure(struct speech *speech, size_t k)
{
    const struct sh_comparison_kind *kind = sh_comparison_get_kind(k);
    const struct sh_before_after *figure = &speech->sheet->comparison->figure[k];
    if (sh_before_after_is_seen(figure)) {
        say_seen(speech, kind, figure);
    } else if (sh_before_after_is_masked(figure)) {
        say_masked(speech, kind, figure);
    }
    return utter(speech);
}

static bool is_unseen(const struct sh_before_after *figure)
{
    return figure->why == SH_BEFORE_AFTER_KNOWN && !sh_before_after_is_seen(figure) &&
           !sh_before_after_is_masked(figure);
}

/* All in which nothing was found, in one sentence. */
static enum sh_status say_unseen(struct speech *speech)
{
    const struct sh_comparison *comparison = speech->sheet->comparison;
    const struct sh_before_after *one = NULL;
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        const struct sh_before_after *figure = &comparison->figure[k];
        if (is_unseen(figure)) {
            const bool is_sessions = figure->way == SH_BEFORE_AFTER_SESSIONS;
            sh_text_printf(&speech->text, "%s%s",
                           one != NULL   ? ", "
                           : is_sessions ? "No change that this many sessions could show: "
                                         : "No change that this many ends could show: ",
                           sh_comparison_get_kind(k)->title);
            one = figure;
        }
    }
    if (one != NULL) {
        sh_text_puts(&speech->text,
                     sh_before_after_is_blind(one)
                         ? ". So few could show none, however large."
                         : ". What would have been seen, and how many would be needed to see "
                           "what was found, stands beside each figure.");
    }
    return utter(speech);
}

/* The figure that rests on most arrows. */
static const struct sh_before_after *find_widest(const struct sh_comparison *comparison)
{
    const struct sh_before_after *widest = &comparison->figure[0];
    for (size_t k = 1; k < SH_COMPARISON_KINDS; k++) {
        const struct sh_before_after *figure = &comparison->figure[k];
        const size_t n = figure->n_arrows[0] + figure->n_arrows[1];
        widest = n > widest->n_arrows[0] + widest->n_arrows[1] ? figure : widest;
    }
    return widest;
}

static enum sh_status say_way(struct speech *speech)
{
    const struct sh_before_after *figure = find_widest(speech->sheet->comparison);
    const struct sh_comparison_set *set = speech->sheet->set;
    sh_text_printf(&speech->text, "Compared: %zu and %zu arrows", figure->n_arrows[0],
                   figure->n_arrows[1]);
    switch (figure->way) {
    case SH_BEFORE_AFTER_SESSIONS:
        sh_text_printf(
            &speech->text,
            " of %zu and %zu sessions; a session counts once, as its arrows are alike.",
            set->n_sessions[0], set->n_sessions[1]);
        break;
    case SH_BEFORE_AFTER_ENDS:
        if (figure->n_observations[0] > 0) {
            sh_text_printf(&speech->text, " in %zu and %zu ends", figure->n_observations[0],
                           figure->n_observations[1]);
        }
        if (set->n_sessions[0] == 1) {
            sh_text_puts(&speech->text, " of both sides within one session.");
        } else {
            sh_text_printf(&speech->text, " of both sides within the same %zu sessions.",
                           set->n_sessions[0]);
        }
        break;
    case SH_BEFORE_AFTER_TWO_SESSIONS:
        sh_text_printf(
            &speech->text,
            " in %zu and %zu ends of one session a side. Two sessions always differ a "
            "little: this tells whether these two do, never what made them.",
            figure->n_observations[0], figure->n_observations[1]);
        break;
    }
    return utter(speech);
}

bool sh_comparison_words_has_figures(const struct sh_comparison_sheet *sheet)
{
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        if (sheet->comparison->figure[k].why == SH_BEFORE_AFTER_KNOWN) {
            return true;
        }
    }
    return false;
}

bool sh_comparison_words_has_fingers(const struct sh_comparison_sheet *sheet)
{
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        const enum sh_measure measure = sh_comparison_get_kind(k)->measure;
        if (measure == SH_MEASURE_FINGER_SHARE &&
            sheet->comparison->figure[k].why != SH_BEFORE_AFTER_NO_VALUES) {
            return true;
        }
    }
    return false;
}

/* What the sensors leave in doubt. */
static enum sh_status say_doubts(struct speech *speech)
{
    enum sh_status status = SH_OK;
    if (speech->sheet->comparison->has_other_calibration) {
        sh_text_puts(&speech->text,
                     "The force sensors were not calibrated alike on both sides: what the "
                     "calibrations are uncertain by is in the limits of forces and shares.");
        status = utter(speech);
    }
    if (status == SH_OK && sh_comparison_words_has_fingers(speech->sheet)) {
        sh_text_puts(&speech->text,
                     "Thin force sensors repeat only to several per cent when they are put on "
                     "anew: shifts of shares of a few per cent may be the sensors'.");
        status = utter(speech);
    }
    return status;
}

enum sh_status sh_comparison_words_each_finding(const struct sh_comparison_sheet *sheet,
                                                const struct sh_comparison_words_sink *sink)
{
    struct speech speech = {.sheet = sheet, .sink = sink};
    sh_text_init(&speech.text, 0);
    enum sh_status status = say_way(&speech);
    for (size_t k = 0; k < SH_COMPARISON_KINDS && status == SH_OK; k++) {
        status = say_figure(&speech, k);
    }
    if (status == SH_OK) {
        status = say_unseen(&speech);
    }
    for (int why = 0; why <= SH_BEFORE_AFTER_STILL && status == SH_OK; why++) {
        status = say_left_out(&speech, (enum sh_before_after_why)why);
    }
    if (status == SH_OK) {
        status = say_doubts(&speech);
    }
    sh_text_close(&speech.text);
    return status;
}

enum sh_status sh_comparison_words_each(const struct sh_comparison_sheet *sheet,
                                        const struct sh_comparison_words_sink *sink)
{
    enum sh_status status = sh_comparison_words_each_finding(sheet, sink);
    const bool is_said = sh_comparison_words_has_fingers(sheet);
    for (size_t i = 0; status == SH_OK && is_said && sh_load_words_get_caution(i) != NULL;
         i++) {
        status = sink->sentence(sink->context, sh_load_words_get_caution(i));
    }
    return status;
}
