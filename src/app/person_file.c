/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/person_file.h"

#include <stdio.h>

#include "app/home.h"
#include "recording/person_json.h"

static enum sh_status make_folder(const char *home, struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    int n = snprintf(path, sizeof path, "%s/people", home);
    if (n < 0 || (size_t)n >= sizeof path) {
        return sh_error_set(err, SH_ERR_FULL, home, "give a shorter --home", "path too long");
    }
    return sh_home_make_folder(path, err);
}

enum sh_status sh_person_file_edit(const char *home,
                                   const char *name,
                                   const struct sh_person_file_change *change,
                                   struct sh_error *err)
{
    struct sh_person person = {0};
    struct sh_person_json *kept = NULL;
    enum sh_status status = sh_person_json_read(home, name, &person, &kept, err);
    if (status == SH_OK) {
        status = change->apply(change->context, &person, err);
    }
    if (status == SH_OK) {
        status = make_folder(home, err);
    }
    if (status == SH_OK) {
        status = sh_person_json_write(home, &person, kept, err);
    }
    sh_person_close(&person);
    sh_person_json_close(&kept);
    return status;
}
