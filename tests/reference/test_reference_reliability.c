/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intraclass correlations and errors of measurement against the papers and R. */
#include <math.h>
#include <stdio.h>

#include "signal/reliability.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

static void test_six_targets(void **state)
{
    const double published[6] = {.165742, .289764, .714841, .442797, .620051, .909316};
    const char *const forms[6] = {"(1,1)", "(2,1)", "(3,1)", "(1,k)", "(2,k)", "(3,k)"};
    struct sh_reference_file *file = sh_reference_open("robust");
    const struct sh_reliability_table table = {sh_reference_get(file, "judged", NULL), 6, 4};
    const double *value = sh_reference_get(file, "judged_icc", NULL);
    const double *lo = sh_reference_get(file, "judged_lo", NULL);
    const double *hi = sh_reference_get(file, "judged_hi", NULL);
    struct sh_reliability r;
    assert_int_equal(sh_reliability_get(&table, 0.95, &r), SH_OK);
    const struct sh_reliability_icc *const got[6] = {&r.icc_1_1, &r.icc_2_1, &r.icc_3_1,
                                                     &r.icc_1_k, &r.icc_2_k, &r.icc_3_k};
    for (size_t k = 0; k < 6; k++) {
        char check[64];
        (void)snprintf(check, sizeof(check), "ICC%s of six targets, four judges", forms[k]);
        sh_reference_row(check, "Shrout & Fleiss 1979, six digits by R psych", published[k],
                         got[k]->value, 5e-7);
        sh_reference_row(check, "R psych", value[k], got[k]->value, 1e-12);
        (void)snprintf(check, sizeof(check), "ICC%s, lower limit", forms[k]);
        sh_reference_row(check, "R psych", lo[k], got[k]->lo, 1e-9);
        (void)snprintf(check, sizeof(check), "ICC%s, upper limit", forms[k]);
        sh_reference_row(check, "R psych", hi[k], got[k]->hi, 1e-9);
    }
    sh_reference_close(&file);
}

/* Peak flow of 20 children, four times each, l/min: from memory, but the published SD and
 * correlation come out of it to all their digits. */
static const double peak_flow[20 * 4] = {
    190, 220, 200, 200, 220, 200, 240, 230, 260, 260, 240, 280, 210, 300, 280, 265,
    270, 265, 280, 270, 280, 280, 270, 275, 260, 280, 280, 300, 275, 275, 275, 305,
    280, 290, 300, 290, 320, 290, 300, 290, 300, 300, 310, 300, 270, 250, 330, 370,
    320, 330, 330, 330, 335, 320, 335, 375, 350, 320, 340, 365, 360, 320, 350, 345,
    330, 340, 380, 390, 335, 385, 360, 370, 400, 420, 425, 420, 430, 460, 480, 470};

static void test_peak_flow(void **state)
{
    const char *const source = "Bland & Altman 1996, BMJ 313:744";
    const struct sh_reliability_table table = {peak_flow, 20, 4};
    struct sh_reliability r;
    assert_int_equal(sh_reliability_get(&table, 0.95, &r), SH_OK);
    sh_reference_row("peak flow: within-subject SD", source, 21.4597, r.sem_within, 5e-5);
    /* published with 1.96 for the quantile */
    sh_reference_row("peak flow: repeatability", source, 59.483, r.change_within, 2e-3);
    sh_reference_row("peak flow: ICC(1,1)", source, 0.887666, r.icc_1_1.value, 5e-7);
    /* the other thing that is called standard error of measurement, and is not the same */
    sh_reference_row("peak flow: SD sqrt(1 - ICC)", source, 21.095,
                     r.sd_targets * sqrt(1.0 - r.icc_1_1.value), 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_six_targets),
        cmocka_unit_test(test_peak_flow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
