/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_PROFILES_H
#define SH_APP_LIVE_PROFILES_H

#include "app/capture_setup.h"
#include "base/text.h"

/*
 * The sensor profiles that a page is offered: those of the command line, then those in the
 * home's sensors/ folder. A page names one by its id out of this list, never by a path.
 * Test: tests/app/test_live_profiles.c.
 */
#define SH_LIVE_PROFILES_MAX      64u /* of the folder, by name; others are left out */
#define SH_LIVE_PROFILES_ID_BYTES 264u

struct sh_live_profile {
    char id[SH_LIVE_PROFILES_ID_BYTES]; /* "line/1", "home/gauge.ini" */
    char path[SH_HOME_PATH_BYTES];
    const char *file; /* its last part, in path */
};

struct sh_live_profiles {
    struct sh_live_profile *profile; /* owned, [n] */
    size_t n;
};

/* What there is now; a file of the command line that lies in the folder, too, comes once.
 * SH_ERR_MEMORY. To be closed whatever comes back. Any thread. */
enum sh_status sh_live_profiles_open(const struct sh_capture_setup *setup,
                                     struct sh_live_profiles *out,
                                     struct sh_error *err);

void sh_live_profiles_close(struct sh_live_profiles *profiles);

/* The one of this id; NULL: there is none. */
const struct sh_live_profile *sh_live_profiles_find(const struct sh_live_profiles *profiles,
                                                    const char *id);

/* Reads it. Statuses of sh_profile_read, SH_ERR_UNSUPPORTED (no ordinary file); err names the
 * file without its folders. */
enum sh_status sh_live_profile_read(const struct sh_live_profile *profile,
                                    struct sh_profile *out,
                                    struct sh_error *err);

/*
 * Appends "profiles":[{"id","file","name","port","streams","error"}] (docs/live.md): each is
 * read for it. Those that cannot be read have the line that says why.
 */
void sh_live_profiles_put(const struct sh_capture_setup *setup, struct sh_text *text);

#endif
