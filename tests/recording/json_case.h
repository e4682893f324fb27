/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_RECORDING_JSON_CASE_H
#define SH_TESTS_RECORDING_JSON_CASE_H

#include <jansson.h>

#include "base/status.h"

/* Short texts of JSON and what is to become of them. All fail the running test. */

/* Reads a text, which must be JSON; the caller gives it back. */
json_t *json_case_load(const char *text);

/* Fails unless root, which it gives back, is written (jansson's flags) as this text. */
void json_case_check_text(json_t *root, size_t flags, const char *text);

/* A text that is refused, and what is said of it. */
struct json_case_offence {
    const char *text;
    const char *where;
    const char *what;
};

/* Fails unless it was refused with SH_ERR_FORMAT, where and what as it is told. */
void json_case_check_offence(const struct json_case_offence *offence,
                             enum sh_status status,
                             const struct sh_error *err);

#endif
