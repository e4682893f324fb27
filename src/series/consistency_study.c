/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency_study.h"

#include <string.h>

static enum sh_status find_measure(enum sh_consistency_measure measure,
                                   const struct sh_clock_effect_arrows *arrows,
                                   struct sh_consistency_study *study)
{
    enum sh_status status =
        sh_consistency_get(study->set, measure, &study->config, &study->steady[measure]);
    if (status == SH_OK) {
        status = sh_clock_effect_get(study->set, measure, arrows, &study->clock[measure]);
    }
    if (status == SH_OK) {
        status =
            sh_clock_effect_get_last_less_first(study->set, measure, &study->last[measure]);
    }
    if (status == SH_OK) {
        status = sh_clock_effect_get_per_arrow(study->set, measure, &study->per_arrow[measure]);
    }
    return status;
}

static enum sh_status find_rest(struct sh_consistency_study *study)
{
    enum sh_status status = sh_clock_effect_adjust(study->clock, SH_CONSISTENCY_MEASURES);
    if (status == SH_OK) {
        status = sh_clock_effect_adjust(study->last, SH_CONSISTENCY_MEASURES);
    }
    if (status == SH_OK) {
        status = sh_clock_effect_adjust(study->per_arrow, SH_CONSISTENCY_MEASURES);
    }
    if (status == SH_OK) {
        status = sh_consistency_get_clock_slope(study->set, SH_CONSISTENCY_HOLD, &study->config,
                                                &study->hold_per_second);
    }
    if (status == SH_OK) {
        status = sh_hold_survival_get_set(study->set, &study->survival);
    }
    if (status == SH_OK) {
        status = sh_score_link_get(study->set, study->links);
    }
    return status == SH_OK ? sh_score_odds_get(study->set, &study->odds) : status;
}

enum sh_status sh_consistency_study_open(const struct sh_consistency_set *set,
                                         const struct sh_consistency_config *config,
                                         const struct sh_clock_effect_arrows *arrows,
                                         struct sh_consistency_study *study)
{
    enum sh_status status = SH_OK;
    *study = (struct sh_consistency_study){.set = set, .config = *config};
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES && status == SH_OK; m++) {
        status = find_measure((enum sh_consistency_measure)m, arrows, study);
    }
    return status == SH_OK ? find_rest(study) : status;
}

void sh_consistency_study_close(struct sh_consistency_study *study)
{
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        sh_consistency_close(&study->steady[m]);
    }
    memset(study, 0, sizeof *study);
}
