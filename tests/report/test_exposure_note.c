/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/exposure_note.h"

#include <string.h>

#include "support/cmocka_all.h"

static void add(struct sh_analysis *analysis, enum sh_shot_kind kind, double hand_m_s2)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.kind = kind;
    if (hand_m_s2 > 0.0) {
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_HAND_VIBRATION, 0) =
            sh_quantity_known(hand_m_s2, 0.1);
    }
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}

static void check(struct sh_analysis *analysis, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_exposure_note_write(analysis, &text);
    if (expected == NULL) {
        assert_int_equal(text.n_bytes, 0);
    } else {
        assert_non_null(text.data);
        if (strstr(text.data, expected) == NULL) {
            fail_msg("%s", text.data);
        }
        assert_non_null(strstr(text.data, "Indicative"));
        assert_non_null(strstr(text.data, "2002/44/EC"));
    }
    sh_text_close(&text);
    sh_analysis_close(analysis);
}

/* By hand: 8 s of 9 m/s² in 8 h are 9 sqrt(8 / 28800) = 0.15; u 0.1 x the same, times 1.96. */
static void test_by_hand(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    for (int i = 0; i < 8; i++) {
        add(&analysis, SH_SHOT_SHOT, 9.0);
    }
    add(&analysis, SH_SHOT_LET_DOWN, 0.0); /* no shot */
    check(&analysis, "Bow hand: 8 such shots in a day are a daily exposure A(8) of 0.150 "
                     "\xC2\xB1"
                     "0.003 m/s\xC2\xB2.");
}

/* sqrt((3² + 4²) / 2) = 3.54 stands for all three: sqrt(3 / 28800) of it is 0.036. */
static void test_shots_without_a_figure(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add(&analysis, SH_SHOT_SHOT, 3.0);
    add(&analysis, SH_SHOT_SHOT, 4.0);
    add(&analysis, SH_SHOT_SHOT, 0.0);
    check(&analysis, "3 such shots in a day are a daily exposure A(8) of 0.036 \xC2\xB1"
                     "0.002 m/s\xC2\xB2 (by the 2 whose vibration is known).");
}

static void test_nothing_known(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    add(&analysis, SH_SHOT_SHOT, 0.0);
    check(&analysis, NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_shots_without_a_figure),
        cmocka_unit_test(test_nothing_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
