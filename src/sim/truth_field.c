/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/truth_field.h"

#include <string.h>

#define AT(member) offsetof(struct sh_truth, member)

#define PUT_IN(key, member)                                                                    \
    {                                                                                          \
        key, SH_TRUTH_GROUP_PUT_IN, SH_TRUTH_WHEN_ALWAYS, 1, AT(member)                        \
    }
#define EVENT(key, member, when)                                                               \
    {                                                                                          \
        key, SH_TRUTH_GROUP_EVENTS, SH_TRUTH_WHEN_##when, 1, AT(member)                        \
    }
#define MEASURE(key, member, when)                                                             \
    {                                                                                          \
        key, SH_TRUTH_GROUP_MEASURES, SH_TRUTH_WHEN_##when, 1, AT(member)                      \
    }
#define FINGERS(key, member)                                                                   \
    {                                                                                          \
        key, SH_TRUTH_GROUP_MEASURES, SH_TRUTH_WHEN_SHOT, 3, AT(member)                        \
    }

#define LOADS(key, member)                                                                     \
    {                                                                                          \
        key, SH_TRUTH_GROUP_MEASURES, SH_TRUTH_WHEN_ALWAYS, 3, AT(member)                      \
    }

static const struct sh_truth_field fields[] = {
    PUT_IN("expansion_m", expansion_m),
    PUT_IN("creep_m", creep_m),
    PUT_IN("flinch_m", flinch_m),
    PUT_IN("collapse_m", collapse_m),
    EVENT("draw_start_s", draw_start_s, ALWAYS),
    EVENT("full_draw_s", full_draw_s, ALWAYS),
    EVENT("clicker_s", clicker_contact_s, CLICKER),
    EVENT("clicker_acceleration_s", clicker_blow_s, CLICKER),
    EVENT("clicker_sound_s", clicker_sound_s, CLICKER),
    EVENT("release_s", release_s, SHOT),
    EVENT("let_down_s", let_down_s, LET_DOWN),
    MEASURE("setup_time_s", setup_time_s, SETUP),
    MEASURE("time_left_draw_s", time_left_draw_s, CLOCK),
    MEASURE("time_left_release_s", time_left_release_s, SHOT_CLOCK),
    MEASURE("hold_time_s", hold_time_s, SHOT),
    MEASURE("clicker_reaction_s", clicker_reaction_s, CLICKER),
    MEASURE("flinch_s", flinch_s, FLINCH),
    MEASURE("ring_hz", ring_hz, SHOT),
    MEASURE("ring_damping", ring_damping, SHOT),
    MEASURE("finger_slide_s", finger_slide_s, SLIDE),
    FINGERS("finger_share", finger_share),
    FINGERS("finger_share_change", finger_share_change),
    FINGERS("finger_release_s", finger_release_s),
    LOADS("finger_peak_n", finger_peak_n),
    LOADS("finger_impulse_n_s", finger_impulse_n_s),
    MEASURE("finger_sum_ratio", finger_sum_ratio, ALWAYS),
    MEASURE("end", end, ALWAYS),
};

const struct sh_truth_field *sh_truth_field_get(size_t index)
{
    return index < sizeof fields / sizeof fields[0] ? &fields[index] : NULL;
}

const char *sh_truth_field_group_name(enum sh_truth_group group)
{
    static const char *const names[SH_TRUTH_GROUPS] = {"put_in", "events", "measures"};
    return names[group];
}

bool sh_truth_field_applies(const struct sh_truth_field *field, const struct sh_truth *truth)
{
    const bool is_shot = truth->kind == SH_TRUTH_SHOT;
    switch (field->when) {
    case SH_TRUTH_WHEN_ALWAYS:
        return true;
    case SH_TRUTH_WHEN_SHOT:
        return is_shot;
    case SH_TRUTH_WHEN_LET_DOWN:
        return !is_shot;
    case SH_TRUTH_WHEN_CLICKER:
        return truth->has_clicker;
    case SH_TRUTH_WHEN_SETUP:
        return truth->has_setup;
    case SH_TRUTH_WHEN_CLOCK:
        return truth->has_clock;
    case SH_TRUTH_WHEN_SHOT_CLOCK:
        return truth->has_clock && is_shot;
    case SH_TRUTH_WHEN_FLINCH:
        return truth->flinch_m > 0.0;
    case SH_TRUTH_WHEN_SLIDE:
        return truth->has_finger_slide;
    }
    return false;
}

void sh_truth_field_copy_out(const struct sh_truth_field *field,
                             const struct sh_truth *truth,
                             double figure[SH_TRUTH_FIELD_FIGURES_MAX])
{
    memcpy(figure, (const char *)truth + field->offset, field->n_figures * sizeof *figure);
}

void sh_truth_field_copy_in(const struct sh_truth_field *field,
                            const double figure[SH_TRUTH_FIELD_FIGURES_MAX],
                            struct sh_truth *truth)
{
    memcpy((char *)truth + field->offset, figure, field->n_figures * sizeof *figure);
}
