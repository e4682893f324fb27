/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/sentence.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define RANGE_BYTES 64u
#define MM_PER_M    1000.0
/* Of 1136 steady simulated holds of some 3 s 72 pass this ratio (docs/findings.md). */
#define STEADY_RATIO 1.5
#define STEADY_PASS  6 /* of 100 */

#define MS_PER_S 1000.0

/* "1.5 mm (1.1 to 1.9)": value and 95 % interval, times factor. */
struct range {
    char text[RANGE_BYTES];
};

/* The decimals asked for, or up to two more: both ends of an interval are to differ. */
static int count_decimals(double half_width, int n_decimals)
{
    int n_most = n_decimals + 2;
    while (n_decimals < n_most && half_width * pow(10.0, n_decimals) < 0.5) {
        n_decimals++;
    }
    return n_decimals;
}

static struct range
format_range(const struct sh_quantity *value, double factor, int n_decimals, const char *unit)
{
    struct range range;
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(value, &lo, &hi);
    n_decimals = count_decimals(factor * (hi - lo) / 2.0, n_decimals);
    (void)snprintf(range.text, sizeof range.text, "%.*f%s%s (%.*f to %.*f)", n_decimals,
                   factor * value->value, unit[0] != '\0' ? " " : "", unit, n_decimals,
                   factor * lo, n_decimals, factor * hi);
    return range;
}

__attribute__((format(printf, 2, 3))) static void
append(struct sh_finding *finding, const char *format, ...)
{
    size_t used = strlen(finding->text);
    va_list values;
    va_start(values, format);
    (void)vsnprintf(finding->text + used, sizeof finding->text - used, format, values);
    va_end(values);
}

static void say_creep(const struct sh_shot_record *record, struct sh_finding *finding)
{
    const struct sh_quantity *length =
        sh_catalog_get(&record->measures, SH_MEASURE_CREEP_LENGTH, 0);
    struct range force = format_range(&finding->value, 1.0, 2, "N");
    if (sh_quantity_is_known(length)) {
        struct range shorter = format_range(length, MM_PER_M, 1, "mm");
        append(finding, "Draw length got shorter by %s during the hold: the force fell by %s",
               shorter.text, force.text);
    } else {
        append(finding, "Draw length got shorter during the hold: the force fell by %s",
               force.text);
    }
}

static void say_flinch(const struct sh_shot_record *record, struct sh_finding *finding)
{
    const struct sh_quantity *when =
        sh_catalog_get(&record->measures, SH_MEASURE_FLINCH_TIME, 0);
    const struct sh_quantity *click = &record->shot.event_s[SH_EVENT_CLICKER];
    const struct sh_quantity *release = &record->shot.event_s[SH_EVENT_RELEASE];
    const struct sh_quantity *end = sh_quantity_is_known(click) ? click : release;
    struct range dip = format_range(&finding->value, 1.0, 2, "N");
    append(finding, "The force dipped by %s and came back", dip.text);
    if (sh_quantity_is_known(when) && sh_quantity_is_known(end)) {
        append(finding, " %.0f ms before the %s", MS_PER_S * (end->value - when->value),
               end == click ? "click" : "release");
    }
}

static void say_collapse(struct sh_finding *finding)
{
    struct range given = format_range(&finding->value, 1.0, 2, "N");
    append(finding,
           "Between click and release the force fell by %s: draw length was given away",
           given.text);
}

static void say_early_loose(const struct sh_shot_record *record, struct sh_finding *finding)
{
    bool is_contact = record->shot.strip == SH_STRIP_CONTACT_CLOSED;
    append(finding, "The string left before the clicker fell: %s",
           is_contact
               ? "its contact was still closed"
               : "a blow like this archer's would have been noticed in 995 of 1000 shots");
}

static void say_reaction(struct sh_finding *finding)
{
    struct range reaction = format_range(&finding->value, MS_PER_S, 0, "ms");
    if (finding->code == SH_CODE_ANTICIPATED_CLICKER) {
        append(finding,
               "The release came %s after the click: too soon to be an answer to it (under "
               "%.0f ms)",
               reaction.text, MS_PER_S * finding->threshold);
    } else {
        append(finding, "The release came %s after the click, later than %.0f ms",
               reaction.text, MS_PER_S * finding->threshold);
    }
}

static void say_hold(struct sh_finding *finding)
{
    struct range hold = format_range(&finding->value, 1.0, 2, "s");
    append(finding, "Full draw was held for %s, %s than %.3g s", hold.text,
           finding->code == SH_CODE_LONG_HOLD ? "longer" : "shorter", finding->threshold);
}

static bool has_flinch(const struct sh_shot_record *record)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == SH_CODE_FLINCH) {
            return true;
        }
    }
    return false;
}

static void say_tremor_rise(const struct sh_shot_record *record, struct sh_finding *finding)
{
    struct range ratio = format_range(&finding->value, 1.0, 1, "");
    append(
        finding,
        "The tremor of the hold's last third was %s times that of its first (about %d of 100 "
        "steady holds pass %.3g by chance)",
        ratio.text, STEADY_PASS, STEADY_RATIO);
    if (has_flinch(record)) {
        append(finding, "; the dip before the click counts in it");
    }
}

static void say_clock(struct sh_finding *finding)
{
    if (finding->code == SH_CODE_RUSHED_SET_UP) {
        struct range set_up = format_range(&finding->value, 1.0, 1, "s");
        append(finding,
               "The set-up took %s, less than %.1f s, which 95 of 100 earlier arrows under the "
               "clock took",
               set_up.text, finding->threshold);
        return;
    }
    double left_s = finding->value.value;
    if (left_s < 0.0) {
        append(finding, "The arrow left %.1f s after the clock had run out", -left_s);
    } else {
        append(finding, "The arrow left with %.1f s on the clock, under %.3g s", left_s,
               finding->threshold);
    }
}

static void say_let_down(struct sh_finding *finding)
{
    if (sh_quantity_is_known(&finding->value)) {
        struct range held = format_range(&finding->value, 1.0, 1, "s");
        append(finding, "The draw was let down after %s at full draw", held.text);
    } else {
        append(finding, "The draw was let down before full draw was reached");
    }
}

static void say_slide(const struct sh_shot_record *record, struct sh_finding *finding)
{
    const struct sh_quantity *when =
        sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SLIDE, 0);
    const struct sh_quantity *release = &record->shot.event_s[SH_EVENT_RELEASE];
    struct sh_quantity lost = finding->value;
    lost.value = -lost.value;
    lost.lo = -finding->value.hi;
    lost.hi = -finding->value.lo;
    struct range share = format_range(&lost, 1.0, 2, "");
    append(finding, "The ring finger's share of the load fell by %s in the hold", share.text);
    if (sh_quantity_is_known(when) && sh_quantity_is_known(release)) {
        append(finding, ", from %.1f s before the release on", release->value - when->value);
    }
}

static void say_unusual(struct sh_finding *finding)
{
    if (finding->has_unusual) {
        append(finding, "; %.1f robust SDs %s this athlete's median", fabs(finding->unusual),
               finding->unusual < 0.0 ? "below" : "above");
    }
    append(finding, ".");
}

void sh_sentence_format(const struct sh_shot_record *record, struct sh_finding *finding)
{
    finding->text[0] = '\0';
    switch (finding->code) {
    case SH_CODE_CREEP:
        say_creep(record, finding);
        break;
    case SH_CODE_FLINCH:
        say_flinch(record, finding);
        break;
    case SH_CODE_COLLAPSE:
        say_collapse(finding);
        break;
    case SH_CODE_EARLY_LOOSE:
        say_early_loose(record, finding);
        break;
    case SH_CODE_ANTICIPATED_CLICKER:
    case SH_CODE_LATE_REACTION:
        say_reaction(finding);
        break;
    case SH_CODE_LONG_HOLD:
    case SH_CODE_SHORT_HOLD:
        say_hold(finding);
        break;
    case SH_CODE_TREMOR_RISE:
        say_tremor_rise(record, finding);
        break;
    case SH_CODE_RUSHED_SET_UP:
    case SH_CODE_CLOCK_RISK:
        say_clock(finding);
        break;
    case SH_CODE_LET_DOWN:
        say_let_down(finding);
        break;
    case SH_CODE_FINGER_SLIDE:
        say_slide(record, finding);
        break;
    case SH_CODE_FINGER_LIMIT:
    case SH_CODE_COUNT:
        return;
    }
    say_unusual(finding);
}
