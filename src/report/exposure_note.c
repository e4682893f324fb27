/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/exposure_note.h"

#include <math.h>

#include "report/figure.h"
#include "signal/hand_arm.h"

#define LIMITS                                                                                 \
    "Directive 2002/44/EC acts from 2.5 m/s\xC2\xB2 on and sets the limit at 5 m/s\xC2\xB2 "   \
    "for "                                                                                     \
    "a day's work."

/* The shots' vibration total values taken together. */
struct shots {
    size_t n;       /* shots */
    size_t n_known; /* of them with a figure */
    double rms_m_s2;
    double rms_u_m_s2;
};

static struct shots gather(const struct sh_analysis *analysis)
{
    struct shots shots = {0};
    double square_sum = 0.0;
    double product_sum = 0.0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        const struct sh_quantity *hand =
            sh_catalog_get(&record->measures, SH_MEASURE_HAND_VIBRATION, 0);
        shots.n += record->shot.kind == SH_SHOT_SHOT ? 1 : 0;
        if (record->shot.kind == SH_SHOT_SHOT && sh_quantity_is_known(hand)) {
            shots.n_known++;
            square_sum += hand->value * hand->value;
            product_sum += hand->value * hand->u;
        }
    }
    if (square_sum > 0.0) {
        shots.rms_m_s2 = sqrt(square_sum / (double)shots.n_known);
        shots.rms_u_m_s2 = product_sum / (double)shots.n_known / shots.rms_m_s2;
    }
    return shots;
}

void sh_exposure_note_write(const struct sh_analysis *analysis, struct sh_text *text)
{
    const struct shots shots = gather(analysis);
    double value_m_s2 = 0.0;
    double u_m_s2 = 0.0;
    if (shots.n_known == 0 ||
        sh_hand_arm_get_shots_exposure(shots.rms_m_s2, (double)shots.n, &value_m_s2) != SH_OK ||
        sh_hand_arm_get_shots_exposure(shots.rms_u_m_s2, (double)shots.n, &u_m_s2) != SH_OK) {
        return;
    }
    char figure[SH_FIGURE_BYTES];
    const struct sh_quantity exposure = sh_quantity_known(value_m_s2, u_m_s2);
    sh_figure_format(&exposure, 1.0, figure);
    sh_text_printf(
        text, "Bow hand: %zu such %s in a day %s a daily exposure A(8) of %s m/s\xC2\xB2",
        shots.n, shots.n == 1 ? "shot" : "shots", shots.n == 1 ? "is" : "are", figure);
    if (shots.n_known < shots.n) {
        sh_text_printf(text, " (by the %zu whose vibration is known)", shots.n_known);
    }
    sh_text_puts(text, ". " LIMITS " Indicative only: ISO 5349-1 covers single shocks "
                       "provisionally.");
}
