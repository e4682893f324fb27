/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_THRESHOLDS_H
#define SH_FINDING_THRESHOLDS_H

#include <stdbool.h>

#include "base/status.h"
#include "finding/code.h"

/*
 * The thresholds of the findings, and thresholds.ini, by which a person changes them:
 *
 *     ; a stricter eye on creep
 *     [creep]
 *     least_n = 0.4
 *
 * A section is a finding's code, its keys are those below. What is not named keeps its default.
 */

/* field, section, key, default, lowest and highest value that is taken */
#define SH_THRESHOLDS_LIST(X)                                                                  \
    X(creep_least_n, SH_CODE_CREEP, "least_n", 0.5, 0.0, 100.0)                                \
    X(creep_tremor_ratio, SH_CODE_CREEP, "tremor_ratio", 0.8, 0.0, 100.0)                      \
    X(creep_tremor_offset_n, SH_CODE_CREEP, "tremor_offset_n", 0.2, 0.0, 100.0)                \
    X(flinch_least_n, SH_CODE_FLINCH, "least_n", 0.8, 0.0, 100.0)                              \
    X(flinch_tremor_ratio, SH_CODE_FLINCH, "tremor_ratio", 3.0, 0.0, 100.0)                    \
    X(collapse_least_n, SH_CODE_COLLAPSE, "least_n", 0.8, 0.0, 100.0)                          \
    X(collapse_tremor_ratio, SH_CODE_COLLAPSE, "tremor_ratio", 1.2, 0.0, 100.0)                \
    X(anticipated_under_s, SH_CODE_ANTICIPATED_CLICKER, "under_s", 0.085, 0.0, 1.0)            \
    X(late_over_s, SH_CODE_LATE_REACTION, "over_s", 0.4, 0.0, 10.0)                            \
    X(long_hold_over_s, SH_CODE_LONG_HOLD, "over_s", 6.0, 0.0, 120.0)                          \
    X(short_hold_under_s, SH_CODE_SHORT_HOLD, "under_s", 1.0, 0.0, 120.0)                      \
    X(tremor_rise_ratio, SH_CODE_TREMOR_RISE, "ratio", 1.5, 1.0, 100.0)                        \
    X(rushed_quantile, SH_CODE_RUSHED_SET_UP, "quantile", 0.05, 0.0, 0.5)                      \
    X(clock_risk_under_s, SH_CODE_CLOCK_RISK, "under_s", 5.0, 0.0, 120.0)                      \
    X(finger_slide_change, SH_CODE_FINGER_SLIDE, "change", -0.06, -1.0, 0.0)

struct sh_thresholds {
#define X(field, code, key, value, low, high) double field;
    SH_THRESHOLDS_LIST(X)
#undef X
    bool is_user[SH_CODE_COUNT]; /* a value of this code's came from a person's file */
};

/* The defaults, as docs/findings.md lists them. */
struct sh_thresholds sh_thresholds_default(void);

/*
 * Reads an INI file over *thresholds, which holds the defaults or an earlier file's values. On
 * failure *thresholds is untouched and err names file and line: SH_ERR_NOT_FOUND,
 * SH_ERR_PERMISSION, SH_ERR_IO; SH_ERR_FORMAT for an unknown section or key, a line that is no
 * assignment, text that is no number, a key given twice; SH_ERR_ARGUMENT for a number out of
 * its range. Test: tests/finding/test_thresholds.c.
 */
enum sh_status
sh_thresholds_read(const char *path, struct sh_thresholds *thresholds, struct sh_error *err);

#endif
