/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_FINDING_H
#define SH_FINDING_FINDING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "finding/code.h"
#include "measure/catalog.h"
#include "shot/shot.h"

/*
 * What stands out in one shot, and one shot with all that is known of it.
 */

#define SH_FINDING_TEXT_BYTES 640u

struct sh_finding {
    enum sh_code code;
    struct sh_quantity value; /* what was compared, in the unit of the measure */
    double threshold;         /* NaN: the code has none */
    enum sh_code_basis basis;
    bool has_unusual;
    double unusual; /* robust SDs from the athlete's own median; only with has_unusual */
    char text[SH_FINDING_TEXT_BYTES]; /* one plain sentence, UTF-8 */
};

/* A code once at most, but for limits: one a limit mark that is reached. */
#define SH_FINDING_MAX 32u

struct sh_shot_record {
    struct sh_shot shot;
    struct sh_measures measures;
    bool quality[SH_CODE_QUALITY_COUNT];
    struct sh_finding findings[SH_FINDING_MAX]; /* in the order of enum sh_code */
    size_t n_findings;
    bool has_score; /* of the arrow, where one was entered */
    double score;
    bool is_kind_changed; /* what the second pass moved */
    bool is_event_changed[SH_EVENT_COUNT];
    bool is_measure_changed[SH_MEASURE_COUNT];
};

#endif
