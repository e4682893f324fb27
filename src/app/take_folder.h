/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_TAKE_FOLDER_H
#define SH_APP_TAKE_FOLDER_H

#include <time.h>

#include "app/home.h"

/*
 * Where the next recording of a capture goes: as --out says, with -2, -3, ... behind it from
 * the second recording on; or by day, time and name in the home's recordings/, with a number
 * behind it where there is one of that name (the same archer again within the minute). A name
 * that is too long for a folder is left out of it. Test: tests/app/test_take_folder.c.
 */
struct sh_take_folder_config {
    const char *out; /* NULL: in the home */
    const char
        *home; /* used where out is NULL; its recordings/ is made where it is not there */
    const char *athlete;
    struct tm local; /* now */
    size_t n_before; /* recordings of this capture so far */
};

/*
 * Writes the path of a folder that is not there yet. SH_ERR_EXISTS: the first recording's --out
 * is. SH_ERR_FULL: the path is too long, or a thousand names are taken. Statuses of
 * sh_home_make_folder.
 */
enum sh_status sh_take_folder_choose(const struct sh_take_folder_config *config,
                                     char path[SH_HOME_PATH_BYTES],
                                     struct sh_error *err);

#endif
