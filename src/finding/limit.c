/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit.h"

#include <stdio.h>
#include <string.h>

#include "finding/limit_kind.h"

/* Dates of one form sort as text. */
bool sh_limit_is_in_force(const struct sh_mark *mark, const char *date)
{
    if (mark->kind != SH_MARK_LIMIT ||
        sh_limit_kind_check(mark->what, mark->finger, mark->per, mark->most.is_given) != NULL) {
        return false;
    }
    if (date[0] == '\0') {
        return true;
    }
    bool has_begun = mark->from[0] == '\0' || strcmp(date, mark->from) >= 0;
    bool has_ended = mark->until[0] != '\0' && strcmp(date, mark->until) > 0;
    return has_begun && !has_ended;
}

enum sh_limit_state
sh_limit_judge(const struct sh_mark *mark, const struct sh_quantity *value, bool is_least)
{
    if (!sh_quantity_is_known(value)) {
        return SH_LIMIT_UNKNOWN;
    }
    const double doubt = SH_LIMIT_COVERAGE * value->u;
    const struct sh_mark_number *most = &mark->most;
    const struct sh_mark_number *least = &mark->least;
    if (most->is_given && value->value + doubt >= most->value) {
        return SH_LIMIT_REACHED;
    }
    if (!is_least && least->is_given && value->value - doubt <= least->value) {
        return SH_LIMIT_REACHED;
    }
    if (most->is_given && value->value >= SH_LIMIT_NEAR_RATIO * most->value) {
        return SH_LIMIT_NEAR;
    }
    if (!is_least && least->is_given && SH_LIMIT_NEAR_RATIO * value->value <= least->value) {
        return SH_LIMIT_NEAR;
    }
    return is_least ? SH_LIMIT_UNKNOWN : SH_LIMIT_INSIDE;
}

/* "finger peak force of the ring", "... in a day". */
static void name(const struct sh_mark *mark, const struct sh_limit_kind *kind, char text[160])
{
    bool is_span = strcmp(mark->per, "shot") != 0;
    bool is_all = kind->what == SH_LIMIT_WHAT_IMPULSE && mark->finger[0] == '\0';
    (void)snprintf(text, 160, "%s%s%s%s%s", kind->title,
                   mark->finger[0] != '\0' ? " of the " : "",
                   is_all ? " of all fingers together" : mark->finger, is_span ? " in a " : "",
                   is_span ? mark->per : "");
}

void sh_limit_format(const struct sh_mark *mark,
                     enum sh_limit_state state,
                     const struct sh_quantity *value,
                     char text[SH_FINDING_TEXT_BYTES])
{
    struct sh_limit_kind kind = {.title = mark->what, .unit = "", .factor = 1.0};
    char named[160];
    (void)sh_limit_kind_find(mark->what, &kind);
    const char *unit = strcmp(kind.unit, "1") == 0 ? "" : kind.unit;
    const char *gap = unit[0] != '\0' ? " " : "";
    bool is_most = mark->most.is_given;
    double limit = kind.factor * (is_most ? mark->most.value : mark->least.value);
    name(mark, &kind, named);
    int n = snprintf(text, SH_FINDING_TEXT_BYTES,
                     "The limit of %s %.6g%s%s for %s%s%s was %s: %.4g%s%s",
                     is_most ? "at most" : "at least", limit, gap, unit, named,
                     mark->set_by[0] != '\0' ? ", set by " : "", mark->set_by,
                     state == SH_LIMIT_REACHED ? "reached" : "nearly reached",
                     kind.factor * value->value, gap, unit);
    if (n > 0 && (size_t)n < SH_FINDING_TEXT_BYTES && value->u > 0.0) {
        (void)snprintf(text + n, SH_FINDING_TEXT_BYTES - (size_t)n,
                       ", give or take %.2g%s%s (2 u).",
                       SH_LIMIT_COVERAGE * kind.factor * value->u, gap, unit);
    } else if (n > 0 && (size_t)n < SH_FINDING_TEXT_BYTES) {
        (void)snprintf(text + n, SH_FINDING_TEXT_BYTES - (size_t)n, ".");
    }
}

bool sh_limit_find(const struct sh_mark *mark,
                   const char *date,
                   const struct sh_shot_record *record,
                   const struct sh_limit_tally *tally,
                   struct sh_finding *finding)
{
    struct sh_quantity value;
    bool is_least = false;
    if (!sh_limit_is_in_force(mark, date) ||
        !sh_limit_tally_get(mark, record, tally, &value, &is_least) ||
        sh_limit_judge(mark, &value, is_least) != SH_LIMIT_REACHED) {
        return false;
    }
    *finding = (struct sh_finding){.code = SH_CODE_FINGER_LIMIT,
                                   .value = value,
                                   .threshold = mark->most.is_given ? mark->most.value
                                                                    : mark->least.value,
                                   .basis = SH_CODE_BASIS_USER};
    sh_limit_format(mark, SH_LIMIT_REACHED, &value, finding->text);
    return true;
}
