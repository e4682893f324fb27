/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/made.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

static void set_measure(
    struct sh_shot_record *record, enum sh_measure measure, size_t part, double value, double u)
{
    *sh_catalog_get_mutable(&record->measures, measure, part) = sh_quantity_known(value, u);
}

static void add_finding(struct sh_shot_record *record, const struct sh_finding *finding)
{
    record->findings[record->n_findings++] = *finding;
}

static void make_first(struct sh_shot_record *record)
{
    struct sh_shot *shot = &record->shot;
    shot->n = 1;
    shot->kind = SH_SHOT_SHOT;
    record->has_score = true;
    record->score = 9.0;
    shot->event_s[SH_EVENT_DRAW_START] = sh_quantity_known(20.113, 0.004);
    shot->event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(21.402, 0.01);
    shot->event_s[SH_EVENT_CLICKER] = sh_quantity_known(24.871, 0.0003);
    shot->event_s[SH_EVENT_RELEASE] = sh_quantity_known(25.009, 0.0005);
    shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    shot->event_s[SH_EVENT_END] = (struct sh_quantity){.value = 25.6,
                                                       .u = 0.05,
                                                       .lo = 25.55,
                                                       .hi = 25.75,
                                                       .has_interval = true,
                                                       .why = SH_WHY_KNOWN};
    shot->clicker_sensor = SH_CLICKER_ACCELERATION;
    shot->clicker_probability = 0.998;
    set_measure(record, SH_MEASURE_HOLD_TIME, 0, 3.607, 0.01);
    set_measure(record, SH_MEASURE_HOLD_FORCE, 0, 178.25, 0.4);
    set_measure(record, SH_MEASURE_CREEP_FORCE, 0, 2.125, 0.2);
    set_measure(record, SH_MEASURE_CREEP_LENGTH, 0, 0.0052, 0.0005);
    set_measure(record, SH_MEASURE_VIBRATION_PEAK, 0, 450.0, 5.0);
    record->measures.vibration_clipped = SH_ANSWER_YES;
    set_measure(record, SH_MEASURE_FINGER_SHARE, 0, 0.41, 0.01);
    set_measure(record, SH_MEASURE_FINGER_SHARE, 2, 0.19, 0.01);
    record->quality[SH_CODE_QUALITY_CLIPPED] = true;
    struct sh_finding creep = {.code = SH_CODE_CREEP,
                               .value = sh_quantity_known(2.125, 0.2),
                               .threshold = 0.75,
                               .basis = SH_CODE_BASIS_USER,
                               .has_unusual = true,
                               .unusual = 3.5,
                               .text = "The draw got shorter, by \"5.2 mm\"."};
    struct sh_finding slide = {.code = SH_CODE_FINGER_SLIDE,
                               .value = sh_quantity_known(-0.07, 0.002),
                               .threshold = -0.06,
                               .text = "The ring finger carried less at the end."};
    add_finding(record, &creep);
    add_finding(record, &slide);
    record->is_event_changed[SH_EVENT_CLICKER] = true;
    record->is_measure_changed[SH_MEASURE_CREEP_FORCE] = true;
}

static void make_let_down(struct sh_shot_record *record)
{
    record->shot.n = 2;
    record->shot.kind = SH_SHOT_LET_DOWN;
    record->shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(48.5, 0.01);
    record->quality[SH_CODE_QUALITY_GAP] = true;
    record->quality[SH_CODE_QUALITY_SHORT] = true;
    record->is_kind_changed = true;
    struct sh_finding finding = {.code = SH_CODE_LET_DOWN,
                                 .threshold = (double)NAN,
                                 .text = "The draw was brought back without a release."};
    add_finding(record, &finding);
}

void made_analysis(struct sh_analysis *analysis)
{
    struct sh_shot_record record;
    sh_analysis_init(analysis, "2026-05-14_0930_wren", "wren, \"the small\"");
    analysis->duration_s = 612.4;
    assert_int_equal(sh_analysis_add_history(analysis, "2026-05-12_1800_wren"), SH_OK);
    sh_analysis_add_quality(analysis, SH_CODE_QUALITY_GAP, "18 samples were lost.");
    memset(&record, 0, sizeof record);
    make_first(&record);
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
    memset(&record, 0, sizeof record);
    make_let_down(&record);
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
    memset(&record, 0, sizeof record);
    record.shot.n = 3;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(80.25, 0.001);
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}
