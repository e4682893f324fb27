/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/judge.h"

#include <math.h>
#include <string.h>

#include "finding/limit.h"
#include "finding/sentence.h"

/* One shot under judgement. */
struct bench {
    const struct sh_judge *judge;
    struct sh_shot_record *record;
};

static const struct sh_quantity *get(const struct bench *bench, enum sh_measure measure)
{
    return sh_catalog_get(&bench->record->measures, measure, 0);
}

static bool is_shot(const struct bench *bench)
{
    return bench->record->shot.kind == SH_SHOT_SHOT;
}

/* How far the value lies from the athlete's own median, where enough shots tell. */
static void
set_unusual(const struct bench *bench, enum sh_measure_place place, struct sh_finding *finding)
{
    const struct sh_baseline *baseline = bench->judge->baseline;
    if (baseline == NULL || !sh_quantity_is_known(&finding->value)) {
        return;
    }
    const struct sh_baseline_place *usual = &baseline->place[place];
    if (usual->n < SH_BASELINE_SHOTS_MIN || !(usual->robust_sd > 0.0)) {
        return;
    }
    finding->has_unusual = true;
    finding->unusual = (finding->value.value - usual->median) / usual->robust_sd;
}

/* place: SH_MEASURE_PLACES where the value is no measure. */
static void add(const struct bench *bench,
                enum sh_code code,
                const struct sh_quantity *value,
                double threshold,
                enum sh_measure_place place)
{
    struct sh_shot_record *record = bench->record;
    if (record->n_findings == SH_FINDING_MAX) {
        return;
    }
    bool is_user = bench->judge->thresholds->is_user[code];
    struct sh_finding finding = {.code = code,
                                 .value = *value,
                                 .threshold = threshold,
                                 .basis = is_user ? SH_CODE_BASIS_USER : SH_CODE_BASIS_FIXED};
    if (code == SH_CODE_RUSHED_SET_UP) {
        finding.basis = SH_CODE_BASIS_HISTORY;
    }
    if (place != SH_MEASURE_PLACES) {
        set_unusual(bench, place, &finding);
    }
    sh_sentence_format(record, &finding);
    record->findings[record->n_findings++] = finding;
}

/* A size above its threshold, and surely above nothing. */
static bool is_large(const struct sh_quantity *value, double threshold)
{
    if (!sh_quantity_is_known(value) || !(value->value >= threshold)) {
        return false;
    }
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(value, &lo, &hi);
    return lo > 0.0;
}

static bool is_surely_over(const struct sh_quantity *value, double limit)
{
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(value)) {
        return false;
    }
    sh_quantity_interval(value, &lo, &hi);
    return lo > limit;
}

static bool is_surely_under(const struct sh_quantity *value, double limit)
{
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(value)) {
        return false;
    }
    sh_quantity_interval(value, &lo, &hi);
    return hi < limit;
}

static void judge_creep(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_quantity *tremor = get(bench, SH_MEASURE_TREMOR_RMS);
    const struct sh_quantity *creep = get(bench, SH_MEASURE_CREEP_FORCE);
    if (!sh_quantity_is_known(tremor)) {
        return;
    }
    double threshold = fmax(thresholds->creep_least_n,
                            thresholds->creep_tremor_ratio *
                                (tremor->value + thresholds->creep_tremor_offset_n));
    if (is_large(creep, threshold)) {
        add(bench, SH_CODE_CREEP, creep, threshold, SH_MEASURE_CREEP_FORCE_FIRST);
    }
}

static void judge_flinch(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_quantity *steady = &bench->record->measures.steady_rms_n;
    const struct sh_quantity *flinch = get(bench, SH_MEASURE_FLINCH_FORCE);
    if (!sh_quantity_is_known(steady)) {
        return;
    }
    double threshold =
        fmax(thresholds->flinch_least_n, thresholds->flinch_tremor_ratio * steady->value);
    if (is_large(flinch, threshold)) {
        add(bench, SH_CODE_FLINCH, flinch, threshold, SH_MEASURE_FLINCH_FORCE_FIRST);
    }
}

static void judge_collapse(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_quantity *tremor = get(bench, SH_MEASURE_TREMOR_RMS);
    const struct sh_quantity *collapse = get(bench, SH_MEASURE_COLLAPSE);
    if (!sh_quantity_is_known(tremor)) {
        return;
    }
    double threshold =
        fmax(thresholds->collapse_least_n, thresholds->collapse_tremor_ratio * tremor->value);
    if (is_large(collapse, threshold)) {
        add(bench, SH_CODE_COLLAPSE, collapse, threshold, SH_MEASURE_COLLAPSE_FIRST);
    }
}

static void judge_early_loose(const struct bench *bench)
{
    enum sh_strip_evidence strip = bench->record->shot.strip;
    if (is_shot(bench) && (strip == SH_STRIP_CONTACT_CLOSED || strip == SH_STRIP_NO_BLOW)) {
        struct sh_quantity nothing = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        add(bench, SH_CODE_EARLY_LOOSE, &nothing, (double)NAN, SH_MEASURE_PLACES);
    }
}

static void judge_reaction(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_quantity *reaction = get(bench, SH_MEASURE_CLICKER_REACTION);
    if (sh_quantity_is_known(reaction) && reaction->value >= 0.0 &&
        is_surely_under(reaction, thresholds->anticipated_under_s)) {
        add(bench, SH_CODE_ANTICIPATED_CLICKER, reaction, thresholds->anticipated_under_s,
            SH_MEASURE_CLICKER_REACTION_FIRST);
    }
    if (is_surely_over(reaction, thresholds->late_over_s)) {
        add(bench, SH_CODE_LATE_REACTION, reaction, thresholds->late_over_s,
            SH_MEASURE_CLICKER_REACTION_FIRST);
    }
}

static void judge_hold(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_quantity *hold = get(bench, SH_MEASURE_HOLD_TIME);
    if (is_surely_over(hold, thresholds->long_hold_over_s)) {
        add(bench, SH_CODE_LONG_HOLD, hold, thresholds->long_hold_over_s,
            SH_MEASURE_HOLD_TIME_FIRST);
    }
    if (is_surely_under(hold, thresholds->short_hold_under_s)) {
        add(bench, SH_CODE_SHORT_HOLD, hold, thresholds->short_hold_under_s,
            SH_MEASURE_HOLD_TIME_FIRST);
    }
}

/* Ratio of the thirds; relative uncertainties add in squares (JCGM 100:2008, 5.1.6). */
static void judge_tremor_rise(const struct bench *bench)
{
    const struct sh_quantity *first = &bench->record->measures.tremor_first_third_n;
    const struct sh_quantity *last = &bench->record->measures.tremor_last_third_n;
    if (!sh_quantity_is_known(first) || !sh_quantity_is_known(last) || !(first->value > 0.0) ||
        !(last->value > 0.0)) {
        return;
    }
    double value = last->value / first->value;
    double u = value * hypot(first->u / first->value, last->u / last->value);
    struct sh_quantity ratio = sh_quantity_known(value, u);
    double threshold = bench->judge->thresholds->tremor_rise_ratio;
    if (value >= threshold && is_surely_over(&ratio, 1.0)) {
        add(bench, SH_CODE_TREMOR_RISE, &ratio, threshold, SH_MEASURE_PLACES);
    }
}

static void judge_clock(const struct bench *bench)
{
    const struct sh_thresholds *thresholds = bench->judge->thresholds;
    const struct sh_baseline *baseline = bench->judge->baseline;
    const struct sh_quantity *left = get(bench, SH_MEASURE_TIME_LEFT_RELEASE);
    const struct sh_quantity *set_up = get(bench, SH_MEASURE_SETUP_TIME);
    bool is_clocked = sh_quantity_is_known(get(bench, SH_MEASURE_TIME_LEFT_DRAW));
    if (baseline != NULL && is_clocked && baseline->n_clocked >= SH_BASELINE_SHOTS_MIN &&
        is_surely_under(set_up, baseline->set_up_quantile_s)) {
        add(bench, SH_CODE_RUSHED_SET_UP, set_up, baseline->set_up_quantile_s,
            SH_MEASURE_SETUP_TIME_FIRST);
    }
    if (is_surely_under(left, thresholds->clock_risk_under_s)) {
        add(bench, SH_CODE_CLOCK_RISK, left, thresholds->clock_risk_under_s,
            SH_MEASURE_TIME_LEFT_RELEASE_FIRST);
    }
}

/* Both were read from the force: what its clock and its delay add to each cancels. */
static double get_held_u_s(const struct sh_shot *shot)
{
    static const enum sh_event ends[2] = {SH_EVENT_LET_DOWN, SH_EVENT_FULL_DRAW};
    double u2 = 0.0;
    for (size_t i = 0; i < 2; i++) {
        const double u_s = shot->event_s[ends[i]].u;
        const struct sh_event_share *share = &shot->event_share[ends[i]];
        const double common_s = hypot(share->clock_u_s, share->delay_u_s);
        u2 += fmax(u_s * u_s - common_s * common_s, 0.0);
    }
    return sqrt(u2);
}

/* Its value is how long full draw was held before it was brought back. */
static void judge_let_down(const struct bench *bench)
{
    const struct sh_shot *shot = &bench->record->shot;
    if (shot->kind != SH_SHOT_LET_DOWN) {
        return;
    }
    const struct sh_quantity *down = &shot->event_s[SH_EVENT_LET_DOWN];
    const struct sh_quantity *full = &shot->event_s[SH_EVENT_FULL_DRAW];
    struct sh_quantity held = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    if (sh_quantity_is_known(down) && sh_quantity_is_known(full)) {
        held = sh_quantity_known(down->value - full->value, get_held_u_s(shot));
    }
    add(bench, SH_CODE_LET_DOWN, &held, (double)NAN, SH_MEASURE_PLACES);
}

static void judge_slide(const struct bench *bench)
{
    const struct sh_quantity *change = sh_catalog_get(
        &bench->record->measures, SH_MEASURE_FINGER_SHARE_CHANGE, SH_FINGER_RING - 1);
    double threshold = bench->judge->thresholds->finger_slide_change;
    if (sh_quantity_is_known(change) && change->value <= threshold &&
        is_surely_under(change, 0.0)) {
        add(bench, SH_CODE_FINGER_SLIDE, change, threshold,
            SH_MEASURE_FINGER_SHARE_CHANGE_LAST);
    }
}

static void judge_limits(const struct bench *bench)
{
    struct sh_shot_record *record = bench->record;
    struct sh_limit_tally *tally = bench->judge->tally;
    if (tally != NULL) {
        sh_limit_tally_add(tally, record);
    }
    for (size_t i = 0; i < bench->judge->n_marks; i++) {
        struct sh_finding finding;
        if (record->n_findings < SH_FINDING_MAX &&
            sh_limit_find(&bench->judge->marks[i], bench->judge->date, record, tally,
                          &finding)) {
            record->findings[record->n_findings++] = finding;
        }
    }
}

static bool is_corrected(const struct sh_shot *shot)
{
    bool is_one = false;
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        is_one = is_one || shot->is_corrected[event];
    }
    return is_one;
}

static void set_quality(struct sh_shot_record *record)
{
    const struct sh_shot *shot = &record->shot;
    const struct sh_quantity *tremor =
        sh_catalog_get(&record->measures, SH_MEASURE_TREMOR_RMS, 0);
    record->quality[SH_CODE_QUALITY_CLIPPED] = shot->is_clipped;
    record->quality[SH_CODE_QUALITY_GAP] = shot->has_gap;
    record->quality[SH_CODE_QUALITY_SHORT] = tremor->why == SH_WHY_TOO_SHORT;
    record->quality[SH_CODE_QUALITY_NOISY] = shot->is_noisy;
    record->quality[SH_CODE_QUALITY_DEAD] = shot->has_dead_channel;
    record->quality[SH_CODE_QUALITY_CORRECTED] = is_corrected(shot);
}

void sh_judge_shot(const struct sh_judge *judge, struct sh_shot_record *record)
{
    const struct bench bench = {judge, record};
    record->n_findings = 0;
    set_quality(record);
    if (is_shot(&bench)) {
        judge_creep(&bench);
        judge_flinch(&bench);
        judge_collapse(&bench);
        judge_early_loose(&bench);
        judge_reaction(&bench);
        judge_hold(&bench);
        judge_tremor_rise(&bench);
        judge_clock(&bench);
    }
    judge_let_down(&bench);
    judge_slide(&bench);
    judge_limits(&bench);
}
