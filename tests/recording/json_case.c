/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_case.h"

#include <stdlib.h>

#include "support/cmocka_all.h"

json_t *json_case_load(const char *text)
{
    json_t *root = json_loads(text, JSON_DECODE_ANY, NULL);
    assert_non_null(root);
    return root;
}

void json_case_check_text(json_t *root, size_t flags, const char *text)
{
    char *got = json_dumps(root, flags);
    assert_string_equal(got, text);
    free(got);
    json_decref(root);
}

void json_case_check_offence(const struct json_case_offence *offence,
                             enum sh_status status,
                             const struct sh_error *err)
{
    assert_int_equal(status, SH_ERR_FORMAT);
    assert_string_equal(err->where, offence->where);
    assert_string_equal(err->what, offence->what);
}
