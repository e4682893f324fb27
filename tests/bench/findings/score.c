/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/findings/score.h"

#include <math.h>
#include <string.h>

#define BAR_TREMOR 1.6 /* creep and collapse are to be found from so many tremor rms on */
#define BAR_FLINCH 5.0 /* and a flinch from so many rms of the steady hold */
#define NORMAL_975 1.959963984540054
#define BAR_SLIDE  0.1
#define NEAR       0.8 /* of the threshold: nearer to it a finding is not held against it */
#define RISE_BAR   2.0
#define RISE_NEAR  1.25
#define RING       2u

/* What is true of one finding in one draw. */
struct showing {
    bool is_bar;
    bool is_grey;
    bool is_beyond; /* the threshold */
    double size;    /* value / threshold; 0: it has no size */
};

static bool has_prefix(const char *text, const char *const *list, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(text, list[i]) == 0) {
            return true;
        }
    }
    return false;
}

void score_init(struct score *score, const char *set)
{
    static const char *const clicking[] = {"bow",     "force_bow", "fingers_bow",
                                           "contact", "sound",     "all"};
    static const char *const of_fingers[] = {"fingers_bow", "all"};
    const bool has_click = has_prefix(set, clicking, sizeof clicking / sizeof clicking[0]);
    const bool has_fingers =
        has_prefix(set, of_fingers, sizeof of_fingers / sizeof of_fingers[0]);
    const bool has_force = strcmp(set, "bow") != 0;
    *score = (struct score){.row = {{.n_draws = 0}}};
    struct score_row *row = score->row;
    row[SH_CODE_CREEP].is_shown = has_force;
    row[SH_CODE_FLINCH].is_shown = has_force;
    row[SH_CODE_COLLAPSE].is_shown = has_force && has_click;
    row[SH_CODE_EARLY_LOOSE].is_shown = has_click;
    row[SH_CODE_ANTICIPATED_CLICKER].is_shown = has_click;
    row[SH_CODE_LATE_REACTION].is_shown = has_click;
    row[SH_CODE_LONG_HOLD].is_shown = has_force;
    row[SH_CODE_SHORT_HOLD].is_shown = has_force;
    row[SH_CODE_TREMOR_RISE].is_shown = has_force;
    row[SH_CODE_CLOCK_RISK].is_shown = true;
    row[SH_CODE_LET_DOWN].is_shown = has_force;
    row[SH_CODE_FINGER_SLIDE].is_shown = has_fingers;
    row[SH_CODE_CREEP].has_size = true;
    row[SH_CODE_FLINCH].has_size = true;
    row[SH_CODE_COLLAPSE].has_size = true;
    row[SH_CODE_FINGER_SLIDE].has_size = true;
}

static struct showing show_size(double value, double threshold, double bar, double reach)
{
    if (isnan(threshold)) { /* without a tremor it rests on, a threshold judges nothing */
        return (struct showing){.is_bar = false};
    }
    const double size = value / threshold;
    return (struct showing){.is_bar = value - reach >= fmax(bar, threshold),
                            .is_grey = value >= NEAR * threshold,
                            .is_beyond = value >= threshold,
                            .size = size};
}

static struct showing show_event(bool is_so)
{
    return (struct showing){.is_bar = is_so, .is_beyond = is_so};
}

static double get(const struct truth_figures *truth, size_t place)
{
    return truth->is_known[place] ? truth->value[place] : (double)NAN;
}

/* The larger one; NaN where b is none. */
static double get_more(double a, double b)
{
    return isnan(b) ? b : fmax(a, b);
}

/* Those with a size; the thresholds are the defaults of docs/findings.md. */
static struct showing
show_sized(const struct truth_figures *truth, enum sh_code code, double reach)
{
    const double tremor_n = get(truth, SH_MEASURE_TREMOR_RMS_FIRST);
    switch ((int)code) {
    case SH_CODE_CREEP:
        return show_size(get(truth, SH_MEASURE_CREEP_FORCE_FIRST),
                         get_more(0.5, 0.8 * (tremor_n + 0.2)), BAR_TREMOR * tremor_n, reach);
    case SH_CODE_COLLAPSE:
        return show_size(get(truth, SH_MEASURE_COLLAPSE_FIRST), get_more(0.8, 1.2 * tremor_n),
                         BAR_TREMOR * tremor_n, reach);
    case SH_CODE_FLINCH:
        return show_size(get(truth, SH_MEASURE_FLINCH_FORCE_FIRST),
                         get_more(0.8, 3.0 * truth->steady_rms_n),
                         BAR_FLINCH * truth->steady_rms_n, reach);
    default:
        return show_size(-get(truth, SH_MEASURE_FINGER_SHARE_CHANGE_FIRST + RING), 0.06,
                         BAR_SLIDE, reach);
    }
}

/* Half of the 95 % interval of the measure that a finding rests on; 0 where it has none. */
static double get_reach(const struct sh_shot_record *record, enum sh_code code)
{
    size_t place = SH_MEASURE_FINGER_SHARE_CHANGE_FIRST + RING;
    place = code == SH_CODE_CREEP ? (size_t)SH_MEASURE_CREEP_FORCE_FIRST : place;
    place = code == SH_CODE_COLLAPSE ? (size_t)SH_MEASURE_COLLAPSE_FIRST : place;
    place = code == SH_CODE_FLINCH ? (size_t)SH_MEASURE_FLINCH_FORCE_FIRST : place;
    const struct sh_quantity *measured = &record->measures.quantity[place];
    return sh_quantity_is_known(measured) ? NORMAL_975 * measured->u : 0.0;
}

static struct showing show(const struct sh_truth *truth,
                           const struct truth_figures *figures,
                           const struct sh_shot_record *record,
                           enum sh_code code)
{
    const bool is_shot = truth->kind == SH_TRUTH_SHOT;
    const bool has_reaction = is_shot && truth->has_clicker;
    const double reaction_s = get(figures, SH_MEASURE_CLICKER_REACTION_FIRST);
    switch (code) {
    case SH_CODE_EARLY_LOOSE:
        return show_event(is_shot && !truth->has_clicker);
    case SH_CODE_ANTICIPATED_CLICKER:
        return show_event(has_reaction && reaction_s < 0.085);
    case SH_CODE_LATE_REACTION:
        return show_event(has_reaction && reaction_s > 0.4);
    case SH_CODE_LONG_HOLD:
        return show_event(is_shot && truth->hold_time_s > 6.0);
    case SH_CODE_SHORT_HOLD:
        return show_event(is_shot && truth->hold_time_s < 1.0);
    case SH_CODE_CLOCK_RISK:
        return show_event(is_shot && truth->has_clock && truth->time_left_release_s < 5.0);
    case SH_CODE_LET_DOWN:
        return show_event(!is_shot);
    case SH_CODE_CREEP:
    case SH_CODE_FLINCH:
    case SH_CODE_COLLAPSE:
    case SH_CODE_FINGER_SLIDE:
        return is_shot
                   ? show_sized(figures, code, record == NULL ? 0.0 : get_reach(record, code))
                   : show_event(false);
    case SH_CODE_TREMOR_RISE: /* the simulated tremor is steady: each is by chance */
    case SH_CODE_RUSHED_SET_UP:
    case SH_CODE_FINGER_LIMIT:
    case SH_CODE_COUNT:
        break;
    }
    return show_event(false);
}

static bool is_found(const struct sh_shot_record *record, enum sh_code code)
{
    for (size_t i = 0; record != NULL && i < record->n_findings; i++) {
        if (record->findings[i].code == code) {
            return true;
        }
    }
    return false;
}

static size_t get_bin(double size)
{
    static const double edge[SCORE_SIZES - 1u] = {0.8, 1.0, 1.25, 2.0};
    size_t k = 0;
    while (k < SCORE_SIZES - 1u && size >= edge[k]) {
        k++;
    }
    return k;
}

static void count(struct score_row *row, const struct showing *showing, bool found)
{
    const size_t one = found ? 1u : 0u;
    row->n_draws++;
    row->n_found += one;
    row->n_shown += showing->is_beyond ? 1u : 0u;
    if (showing->is_bar) {
        row->n_bar++;
        row->n_bar_found += one;
    } else if (showing->is_grey) {
        row->n_grey++;
        row->n_grey_found += one;
    } else {
        row->n_none++;
        row->n_none_found += one;
    }
    row->n_size[get_bin(showing->size)]++;
    row->n_size_found[get_bin(showing->size)] += one;
}

/* The sensor whose clicker the truth is asked for where the analysis has none. */
static enum sh_clicker_sensor get_usual(const struct evening *evening)
{
    for (size_t i = 0; i < evening->analysis.n_shots; i++) {
        if (evening->analysis.shots[i].shot.clicker_sensor != SH_CLICKER_NONE) {
            return evening->analysis.shots[i].shot.clicker_sensor;
        }
    }
    return SH_CLICKER_NONE;
}

static void count_spurious(struct score *score, const struct evening *evening)
{
    for (size_t i = 0; i < evening->analysis.n_shots; i++) {
        const struct sh_shot_record *record = &evening->analysis.shots[i];
        size_t draw = 0;
        const bool is_a_draw = evening_find_draw(evening, record, &draw);
        for (size_t k = 0; !is_a_draw && k < record->n_findings; k++) {
            score->row[record->findings[k].code].n_spurious++;
        }
    }
}

enum sh_status
score_add(struct score *score, struct truth_kit *kit, const struct evening *evening)
{
    const enum sh_clicker_sensor usual = get_usual(evening);
    for (size_t i = 0; i < evening->simulation.plan->n_draws; i++) {
        const struct sh_shot_record *record = evening_find_record(evening, i);
        struct truth_figures figures;
        const enum sh_status status = truth_find(kit, evening, i, usual, &figures);
        if (status != SH_OK) {
            return status;
        }
        for (int c = 0; c < SH_CODE_COUNT; c++) {
            const enum sh_code code = (enum sh_code)c;
            const struct showing showing =
                show(&evening->simulation.plan->truth[i], &figures, record, code);
            count(&score->row[c], &showing, is_found(record, code));
        }
    }
    count_spurious(score, evening);
    return SH_OK;
}
