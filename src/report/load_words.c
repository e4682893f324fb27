/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_words.h"

#include <string.h>

#include "base/day.h"
#include "finding/limit_kind.h"
#include "report/figure.h"
#include "report/utf8.h"

#define PER_CENT 100.0

static const char *const cautions[] = {
    "Not a medical device. Limits, pain and the return to shooting are decided by licensed "
    "practice; this program has no limits of its own.",
    "Stop on pain, and ask your specialist.",
    "What is not measured is shown as unknown, never as inside a limit.",
    "No figure here is a force in a tendon or a pulley: what the string does to those has not "
    "been published for an archer's hook.",
    "Shoot only on a range, under its rules and its officer. Never draw and let go without an "
    "arrow; nothing may stand in the way of string, arrow or clicker.",
};

const char *sh_load_words_get_caution(size_t i)
{
    return i < sizeof cautions / sizeof cautions[0] ? cautions[i] : NULL;
}

const char *sh_load_words_get_finger(size_t finger)
{
    static const char *const names[] = {"index", "middle", "ring", "together"};
    return names[finger];
}

static void put_day(struct sh_text *text, int day)
{
    char date[SH_DAY_BYTES];
    sh_day_format(day, date);
    sh_text_puts(text, date);
}

static void put_masked(struct sh_text *text, const char *string)
{
    sh_utf8_put(text, string, SH_UTF8_MASK_CONTROL);
}

/* "1 draw", "2 draws". */
static void put_count(struct sh_text *text, size_t count, const char *noun)
{
    sh_text_printf(text, "%zu %s%s", count, noun, count == 1 ? "" : "s");
}

void sh_load_words_put_quantity(struct sh_text *text,
                                const struct sh_quantity *quantity,
                                double factor,
                                const char *unit)
{
    char figure[SH_FIGURE_BYTES];
    if (!sh_quantity_is_known(quantity)) {
        sh_text_puts(text, quantity->why == SH_WHY_NOT_APPLICABLE ? "none" : "unknown");
        return;
    }
    if (quantity->u > 0.0) {
        sh_figure_format(quantity, factor, figure);
        sh_text_printf(text, "%s %s", figure, unit);
    } else {
        sh_text_printf(text, "%.4g %s", factor * quantity->value, unit);
    }
}

/* Of a sum, of several days perhaps. */
static const char *get_reason(enum sh_why why)
{
    return why == SH_WHY_NOT_GIVEN ? "nobody has said anything of some of it"
                                   : sh_quantity_why_text(why);
}

void sh_load_words_put_sum(struct sh_text *text,
                           const struct sh_quantity *quantity,
                           const struct sh_load_sum *sum)
{
    sh_load_words_put_quantity(text, quantity, 1.0, "N s");
    if (sh_quantity_is_known(quantity)) {
        return;
    }
    if (sum->n_known > 0) {
        const struct sh_quantity known = sh_quantity_known(sum->value, sum->u);
        sh_text_puts(text, " (at least ");
        sh_load_words_put_quantity(text, &known, 1.0, "N s");
        sh_text_printf(text, "; %s)", get_reason(quantity->why));
    } else {
        sh_text_printf(text, " (%s)", get_reason(quantity->why));
    }
}

void sh_load_words_put_kinds(struct sh_text *text, const struct sh_day_load *span)
{
    for (int kind = SH_DAY_LOAD_MEASURED; kind >= SH_DAY_LOAD_UNKNOWN; kind--) {
        if (span->n_days_of[kind] > 0) {
            sh_text_printf(text, "%s %zu d, ",
                           sh_day_load_kind_name((enum sh_day_load_kind)kind),
                           span->n_days_of[kind]);
        }
    }
}

void sh_load_words_put_draws(struct sh_text *text, const struct sh_day_load *load)
{
    if (load->n_unread > 0) {
        sh_text_puts(text, "at least ");
    }
    put_count(text, load->n_draws, "draw");
    if (load->n_let_downs > 0) {
        sh_text_puts(text, ", of them ");
        put_count(text, load->n_let_downs, "let-down");
    }
    if (load->n_added > 0) {
        sh_text_puts(text, "; ");
        put_count(text, load->n_added, "draw");
        sh_text_puts(text, " added by hand, without a force");
        if (load->added_weight_n > 0.0) {
            sh_text_printf(text, " (bow of %.4g N)", load->added_weight_n);
        }
    }
    if (load->n_without_force > 0) {
        sh_text_puts(text, "; ");
        put_count(text, load->n_without_force, "draw");
        sh_text_puts(text, " recorded without the fingers' forces");
    }
    if (load->n_unread > 0) {
        sh_text_puts(text, "; ");
        put_count(text, load->n_unread, "recording");
        sh_text_puts(text, " could not be read");
    }
}

void sh_load_words_put_average(struct sh_text *text,
                               const struct sh_load_history_row *row,
                               enum sh_load_history_what what)
{
    const struct sh_load_history_average *average = &row->average[what];
    const char *unit = what == SH_LOAD_HISTORY_DRAWS ? "draws a day" : "N s a day";
    if (average->n_days == 0) {
        sh_text_puts(text, "no average: it stops where a day is unknown");
        return;
    }
    sh_text_puts(text, "7-day average ");
    sh_load_words_put_quantity(text, &average->value[0], 1.0, unit);
    sh_text_puts(text, ", 28-day average ");
    sh_load_words_put_quantity(text, &average->value[1], 1.0, unit);
    sh_text_puts(text, ", over ");
    put_count(text, average->n_days, "day");
    sh_text_puts(text, " without a break");
}

void sh_load_words_put_ratio(struct sh_text *text,
                             const struct sh_load_history_average *average)
{
    if (sh_quantity_is_known(&average->ratio)) {
        sh_text_puts(text, "the 7-day average is ");
        sh_load_words_put_quantity(text, &average->ratio, 1.0, "times the 28-day average");
    }
}

static void put_span(struct sh_text *text, const char *per)
{
    sh_text_printf(text, " in each %s", per);
}

/* "; from ... to ...". */
static void put_dates(struct sh_text *text, const struct sh_person_limit *limit)
{
    if (limit->from[0] != '\0') {
        sh_text_puts(text, "; from ");
        put_masked(text, limit->from);
    }
    if (limit->until[0] != '\0') {
        sh_text_puts(text, limit->from[0] != '\0' ? " to " : "; until ");
        put_masked(text, limit->until);
    }
    if (limit->from[0] == '\0' && limit->until[0] == '\0') {
        sh_text_puts(text, "; without an end");
    }
}

static void put_steps(struct sh_text *text,
                      const struct sh_load_sheet_limit *entry,
                      const struct sh_limit_kind *kind)
{
    const struct sh_limit_plan *plan = &entry->plan;
    if (!entry->limit->weekly_step.is_given) {
        return;
    }
    sh_text_printf(text, "; planned: %+.6g %s each week",
                   kind->factor * entry->limit->weekly_step.value, kind->unit);
    if (plan->is_waiting) {
        sh_text_puts(text, ", but the step that is due waits until a person confirms it, as a "
                           "rating rose or a limit was reached");
    } else if (plan->has_next) {
        sh_text_puts(text, ", next on ");
        put_day(text, plan->next_day);
    }
}

void sh_load_words_put_limit(struct sh_text *text, const struct sh_load_sheet_limit *entry)
{
    const struct sh_person_limit *limit = entry->limit;
    struct sh_limit_kind kind = {.title = limit->what, .unit = "", .factor = 1.0};
    (void)sh_limit_kind_find(limit->what, &kind);
    put_masked(text, kind.title);
    if (limit->finger[0] != '\0') {
        sh_text_puts(text, " of the ");
        put_masked(text, limit->finger);
        sh_text_puts(text, " finger");
    } else if (kind.what == SH_LIMIT_WHAT_IMPULSE &&
               kind.measure == SH_MEASURE_FINGER_IMPULSE) {
        sh_text_puts(text, " of all three fingers together");
    }
    sh_text_printf(text, ", at %s %.6g %s", limit->most.is_given ? "most" : "least",
                   kind.factor * entry->plan.value, kind.unit);
    put_span(text, limit->per);
    if (limit->set_by[0] != '\0') {
        sh_text_puts(text, "; set by ");
        put_masked(text, limit->set_by);
    } else {
        sh_text_puts(text, "; nobody is named who set it");
    }
    if (limit->set_on[0] != '\0') {
        sh_text_puts(text, " on ");
        put_masked(text, limit->set_on);
    }
    put_dates(text, limit);
    put_steps(text, entry, &kind);
    if (!entry->plan.is_in_force) {
        sh_text_puts(text, "; not in force");
    }
}

/* Limits of one verdict on a day behind a lead: "no. 1, no. 3"; how many. */
static size_t put_numbers(struct sh_text *text,
                          const struct sh_load_sheet *sheet,
                          int day,
                          enum sh_limit_day verdict,
                          const char *const lead[2])
{
    size_t n = 0;
    for (size_t i = 0; i < sheet->n_verdicts; i++) {
        if (sheet->verdicts[i].day == day && sheet->verdicts[i].verdict == verdict) {
            sh_text_puts(text, n == 0 ? lead[0] : "");
            sh_text_printf(text, "%sno. %zu", n == 0 ? lead[1] : ", ",
                           sheet->verdicts[i].number);
            n++;
        }
    }
    return n;
}

void sh_load_words_put_notes(struct sh_text *text, const struct sh_load_sheet *sheet, int day)
{
    const char *between = "";
    for (size_t i = 0; i < sheet->n_ratings; i++) {
        if (sheet->ratings[i].day == day) {
            sh_text_printf(
                text, "%spain %s shooting: %.3g of 10 points%s", between,
                sh_rating_when_name(sheet->ratings[i].when), sheet->ratings[i].rating,
                sh_rating_is_rise(sheet->ratings, i) ? ", higher than the one before" : "");
            between = "; ";
        }
    }
    const char *const reached[] = {between, "limit reached: "};
    const size_t n = put_numbers(text, sheet, day, SH_LIMIT_DAY_REACHED, reached);
    const char *const unknown[] = {
        n > 0 ? "; " : between, n > 0
                                    ? "unknown whether reached: "
                                    : "limit of which it is unknown whether it was reached: "};
    (void)put_numbers(text, sheet, day, SH_LIMIT_DAY_UNKNOWN, unknown);
}

static size_t count(const struct sh_load_sheet *sheet, size_t number, enum sh_limit_day verdict)
{
    size_t n = 0;
    for (size_t i = 0; i < sheet->n_verdicts; i++) {
        const struct sh_load_sheet_verdict *entry = &sheet->verdicts[i];
        n += entry->number == number && entry->verdict == verdict ? 1u : 0u;
    }
    return n;
}

void sh_load_words_put_verdicts(struct sh_text *text,
                                const struct sh_load_sheet *sheet,
                                size_t number)
{
    const size_t n_reached = count(sheet, number, SH_LIMIT_DAY_REACHED);
    const size_t n_unknown = count(sheet, number, SH_LIMIT_DAY_UNKNOWN);
    const char *between = ": ";
    if (n_reached == 0) {
        sh_text_puts(text, "not known to have been reached on any day shown");
    } else {
        sh_text_puts(text, "reached on ");
        put_count(text, n_reached, "day");
    }
    for (size_t i = 0; i < sheet->n_verdicts; i++) {
        const struct sh_load_sheet_verdict *entry = &sheet->verdicts[i];
        if (entry->number == number && entry->verdict == SH_LIMIT_DAY_REACHED) {
            sh_text_puts(text, between);
            put_day(text, entry->day);
            between = ", ";
        }
    }
    if (n_unknown > 0) {
        sh_text_puts(text, "; unknown on ");
        put_count(text, n_unknown, "day");
    }
}

void sh_load_words_put_rating(struct sh_text *text, const struct sh_rating *ratings, size_t i)
{
    put_day(text, ratings[i].day);
    sh_text_printf(text, " %s shooting: %.3g of 10 points",
                   sh_rating_when_name(ratings[i].when), ratings[i].rating);
    if (sh_rating_is_rise(ratings, i)) {
        sh_text_puts(text, ", higher than the one before");
    }
}

void sh_load_words_put_sensor(struct sh_text *text, const struct sh_load_sheet_sensor *sensor)
{
    sh_text_printf(text, "%s finger: ", sh_load_words_get_finger(sensor->finger));
    if (!sensor->has_channel) {
        sh_text_puts(text, "no sensor, its load is unknown");
    } else {
        if (sensor->calibrated[0] != '\0') {
            sh_text_puts(text, "calibrated on ");
            put_masked(text, sensor->calibrated);
        } else {
            sh_text_puts(text, "no calibration is named, the figures rest on its profile");
        }
        if (sensor->u_ratio > 0.0) {
            sh_text_printf(text, ", standard uncertainty %.2g %% of the force at %.3g N",
                           PER_CENT * sensor->u_ratio, sensor->at_n);
        } else {
            sh_text_puts(text, ", uncertainty of the calibration not said");
        }
    }
    sh_text_puts(text, "; ");
    put_count(text, sensor->n_recordings, "recording");
    sh_text_puts(text, ", ");
    put_day(text, sensor->first_day);
    if (sensor->last_day != sensor->first_day) {
        sh_text_puts(text, " to ");
        put_day(text, sensor->last_day);
    }
}
