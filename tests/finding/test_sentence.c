/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/sentence.h"

#include "finding/one_shot.h"
#include "support/cmocka_all.h"

static void
check(const struct sh_shot_record *record, struct sh_finding finding, const char *expected)
{
    sh_sentence_format(record, &finding);
    assert_string_equal(finding.text, expected);
}

static void test_creep(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_finding finding = {.code = SH_CODE_CREEP, .value = sh_quantity_known(0.62, 0.05)};
    check(&record, finding,
          "Draw length got shorter during the hold: the force fell by 0.62 N (0.52 to 0.72).");
    put(&record, SH_MEASURE_CREEP_LENGTH, 0.0015, 0.0002);
    finding.has_unusual = true;
    finding.unusual = 3.14;
    check(&record, finding,
          "Draw length got shorter by 1.5 mm (1.1 to 1.9) during the hold: the force fell by "
          "0.62 N (0.52 to 0.72); 3.1 robust SDs above this athlete's median.");
}

/* A narrow interval gets decimals in which its ends differ. */
static void test_decimals_follow_the_interval(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_finding finding = {.code = SH_CODE_LONG_HOLD,
                                 .value = sh_quantity_known(7.5726, 0.0004),
                                 .threshold = 6.0};
    check(&record, finding,
          "Full draw was held for 7.573 s (7.572 to 7.573), longer than 6 s.");
    finding.value.u = 0.0;
    check(&record, finding,
          "Full draw was held for 7.5726 s (7.5726 to 7.5726), longer than 6 s.");
    finding.value.u = 0.5;
    check(&record, finding, "Full draw was held for 7.57 s (6.59 to 8.55), longer than 6 s.");
}

static void test_flinch(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_finding finding = {.code = SH_CODE_FLINCH, .value = sh_quantity_known(1.2, 0.1)};
    check(&record, finding, "The force dipped by 1.20 N (1.00 to 1.40) and came back.");
    put(&record, SH_MEASURE_FLINCH_TIME, 19.73, 0.005);
    check(&record, finding,
          "The force dipped by 1.20 N (1.00 to 1.40) and came back 120 ms before the click.");
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    check(&record, finding,
          "The force dipped by 1.20 N (1.00 to 1.40) and came back 270 ms before the release.");
}

static void test_clicker_and_hold(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    check(&record,
          (struct sh_finding){.code = SH_CODE_ANTICIPATED_CLICKER,
                              .value = sh_quantity_known(0.06, 0.001),
                              .threshold = 0.085},
          "The release came 60 ms (58 to 62) after the click: too soon to be an answer to it "
          "(under 85 ms).");
    check(&record,
          (struct sh_finding){.code = SH_CODE_LATE_REACTION,
                              .value = sh_quantity_known(0.45, 0.001),
                              .threshold = 0.4},
          "The release came 450 ms (448 to 452) after the click, later than 400 ms.");
    check(&record,
          (struct sh_finding){.code = SH_CODE_LONG_HOLD,
                              .value = sh_quantity_known(7.5, 0.01),
                              .threshold = 6.0},
          "Full draw was held for 7.50 s (7.48 to 7.52), longer than 6 s.");
    record.shot.strip = SH_STRIP_CONTACT_CLOSED;
    check(&record, (struct sh_finding){.code = SH_CODE_EARLY_LOOSE},
          "The string left before the clicker fell: its contact was still closed.");
    record.shot.strip = SH_STRIP_NO_BLOW;
    check(&record, (struct sh_finding){.code = SH_CODE_EARLY_LOOSE},
          "The string left before the clicker fell: a blow like this archer's would have been "
          "noticed in 995 of 1000 shots.");
    check(&record,
          (struct sh_finding){.code = SH_CODE_COLLAPSE, .value = sh_quantity_known(1.5, 0.1)},
          "Between click and release the force fell by 1.50 N (1.30 to 1.70): draw length was "
          "given away.");
}

static void test_tremor_and_clock(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    check(&record,
          (struct sh_finding){.code = SH_CODE_TREMOR_RISE,
                              .value = sh_quantity_known(1.8, 0.2),
                              .threshold = 1.5},
          "The tremor of the hold's last third was 1.8 (1.4 to 2.2) times that of its first "
          "(about 6 of 100 steady holds pass 1.5 by chance).");
    record.findings[0].code = SH_CODE_FLINCH;
    record.n_findings = 1;
    check(&record,
          (struct sh_finding){.code = SH_CODE_TREMOR_RISE,
                              .value = sh_quantity_known(1.8, 0.2),
                              .threshold = 1.5},
          "The tremor of the hold's last third was 1.8 (1.4 to 2.2) times that of its first "
          "(about 6 of 100 steady holds pass 1.5 by chance); the dip before the click counts "
          "in it.");
    record.n_findings = 0;
    struct sh_finding risk = {
        .code = SH_CODE_CLOCK_RISK, .value = sh_quantity_known(3.2, 0.01), .threshold = 5.0};
    check(&record, risk, "The arrow left with 3.2 s on the clock, under 5 s.");
    risk.value.value = -0.7;
    check(&record, risk, "The arrow left 0.7 s after the clock had run out.");
    check(&record,
          (struct sh_finding){.code = SH_CODE_RUSHED_SET_UP,
                              .value = sh_quantity_known(6.0, 0.02),
                              .threshold = 8.0,
                              .has_unusual = true,
                              .unusual = -2.5},
          "The set-up took 6.00 s (5.96 to 6.04), less than 8.0 s, which 95 of 100 earlier "
          "arrows "
          "under the clock took; 2.5 robust SDs below this athlete's median.");
}

static void test_let_down_and_slide(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    check(&record,
          (struct sh_finding){.code = SH_CODE_LET_DOWN, .value = sh_quantity_known(2.0, 0.05)},
          "The draw was let down after 2.0 s (1.9 to 2.1) at full draw.");
    check(&record, (struct sh_finding){.code = SH_CODE_LET_DOWN},
          "The draw was let down before full draw was reached.");
    struct sh_finding slide = {.code = SH_CODE_FINGER_SLIDE,
                               .value = sh_quantity_known(-0.1, 0.01)};
    check(&record, slide,
          "The ring finger's share of the load fell by 0.10 (0.08 to 0.12) in the hold.");
    put(&record, SH_MEASURE_FINGER_SLIDE, 18.6, 0.1);
    check(&record, slide,
          "The ring finger's share of the load fell by 0.10 (0.08 to 0.12) in the hold, from "
          "1.4 s before the release on.");
    slide.value.has_interval = true;
    slide.value.lo = -0.15;
    slide.value.hi = -0.07;
    check(&record, slide,
          "The ring finger's share of the load fell by 0.10 (0.07 to 0.15) in the hold, from "
          "1.4 s before the release on.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_creep),
        cmocka_unit_test(test_decimals_follow_the_interval),
        cmocka_unit_test(test_flinch),
        cmocka_unit_test(test_clicker_and_hold),
        cmocka_unit_test(test_tremor_and_clock),
        cmocka_unit_test(test_let_down_and_slide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
