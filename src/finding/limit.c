/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit.h"

#include <stdio.h>
#include <string.h>

#include "metrology/channel.h"

#define COVERAGE 2.0 /* u's on the safe side of a limit */

/* Dates of one form sort as text. */
static bool is_in_force(const struct sh_mark *mark, const char *date)
{
    if (date[0] == '\0') {
        return true;
    }
    bool has_begun = mark->from[0] == '\0' || strcmp(date, mark->from) >= 0;
    bool has_ended = mark->until[0] != '\0' && strcmp(date, mark->until) > 0;
    return has_begun && !has_ended;
}

/* The part of the measure that the mark names; false where it names none. */
static bool find_part(const struct sh_mark *mark, enum sh_measure measure, size_t *part)
{
    enum sh_finger finger = SH_FINGER_NONE;
    if (sh_catalog_get_parts(measure) == 1) {
        *part = 0;
        return mark->finger[0] == '\0';
    }
    if (!sh_channel_finger_find(mark->finger, &finger)) {
        return false;
    }
    *part = (size_t)finger - 1;
    return true;
}

static void fill(const struct sh_mark *mark,
                 enum sh_measure measure,
                 bool is_most,
                 struct sh_finding *finding)
{
    const struct sh_catalog_row *row = sh_catalog_get_row(measure);
    const char *unit = strcmp(row->symbol, "1") == 0 ? "" : row->symbol;
    const char *gap = unit[0] != '\0' ? " " : "";
    finding->threshold = is_most ? mark->most.value : mark->least.value;
    (void)snprintf(finding->text, sizeof finding->text,
                   "The limit of %s %.3g%s%s for %s%s%s%s%s was reached: %.3g%s%s, "
                   "give or take %.2g (2 u).",
                   is_most ? "at most" : "at least", finding->threshold, gap, unit, row->title,
                   mark->finger[0] != '\0' ? " of the " : "", mark->finger,
                   mark->set_by[0] != '\0' ? ", set by " : "", mark->set_by,
                   finding->value.value, gap, unit, COVERAGE * finding->value.u);
}

bool sh_limit_find(const struct sh_mark *mark,
                   const char *date,
                   const struct sh_measures *measures,
                   struct sh_finding *finding)
{
    enum sh_measure measure = SH_MEASURE_COUNT;
    size_t part = 0;
    if (mark->kind != SH_MARK_LIMIT || strcmp(mark->per, "shot") != 0 ||
        !is_in_force(mark, date) || !sh_catalog_find(mark->what, &measure) ||
        !find_part(mark, measure, &part)) {
        return false;
    }
    const struct sh_quantity *value = sh_catalog_get(measures, measure, part);
    if (!sh_quantity_is_known(value)) {
        return false;
    }
    double doubt = COVERAGE * value->u;
    bool is_most = mark->most.is_given && value->value + doubt >= mark->most.value;
    bool is_least = mark->least.is_given && value->value - doubt <= mark->least.value;
    if (!is_most && !is_least) {
        return false;
    }
    *finding = (struct sh_finding){
        .code = SH_CODE_FINGER_LIMIT, .value = *value, .basis = SH_CODE_BASIS_USER};
    fill(mark, measure, is_most, finding);
    return true;
}
