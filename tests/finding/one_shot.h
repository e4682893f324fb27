/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FINDING_ONE_SHOT_H
#define SH_TESTS_FINDING_ONE_SHOT_H

#include <string.h>

#include "finding/finding.h"

/* Sets the first part of a measure. */
static inline void
put(struct sh_shot_record *record, enum sh_measure measure, double value, double u)
{
    *sh_catalog_get_mutable(&record->measures, measure, 0) = sh_quantity_known(value, u);
}

/* A plain shot in which nothing stands out: release at 20 s, click 0.15 s before, tremor 0.3 N.
 */
static inline struct sh_shot_record make_plain_shot(void)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.kind = SH_SHOT_SHOT;
    record.shot.strip = SH_STRIP_FELL;
    record.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(17.0, 0.005);
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_known(19.85, 0.0005);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(20.0, 0.0005);
    put(&record, SH_MEASURE_HOLD_TIME, 3.0, 0.005);
    put(&record, SH_MEASURE_CLICKER_REACTION, 0.15, 0.0007);
    put(&record, SH_MEASURE_TREMOR_RMS, 0.3, 0.02);
    put(&record, SH_MEASURE_CREEP_FORCE, 0.1, 0.05);
    put(&record, SH_MEASURE_FLINCH_FORCE, 0.1, 0.05);
    put(&record, SH_MEASURE_COLLAPSE, 0.1, 0.05);
    record.measures.steady_rms_n = sh_quantity_known(0.3, 0.02);
    record.measures.tremor_first_third_n = sh_quantity_known(0.3, 0.03);
    record.measures.tremor_last_third_n = sh_quantity_known(0.3, 0.03);
    return record;
}

#endif
