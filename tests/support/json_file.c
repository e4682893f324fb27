/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/json_file.h"

#include <stdio.h>

#include "support/cmocka_all.h"

#define PATH_BYTES 1024

static void get_path(const char *folder, const char *name, char path[PATH_BYTES])
{
    int n = snprintf(path, PATH_BYTES, "%s/%s", folder, name);
    assert_in_range(n, 1, PATH_BYTES - 1);
}

json_t *json_file_load(const char *path)
{
    json_error_t error;
    json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    if (root == NULL) {
        fail_msg("%s: %s", path, error.text);
    }
    return root;
}

json_t *json_file_load_in(const char *folder, const char *name)
{
    char path[PATH_BYTES];
    get_path(folder, name, path);
    return json_file_load(path);
}

void json_file_store_in(const char *folder, const char *name, json_t *root)
{
    char path[PATH_BYTES];
    get_path(folder, name, path);
    assert_int_equal(json_dump_file(root, path, 0), 0);
    json_decref(root);
}
