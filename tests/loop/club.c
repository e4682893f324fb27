/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/club.h"

#include <sys/stat.h>

#include "support/cmocka_all.h"

void club_open(struct club *club)
{
    scratch_open(&club->scratch);
    scratch_path(&club->scratch, "home", club->home);
    scratch_path(&club->scratch, "home/recordings", club->recordings);
    assert_int_equal(mkdir(club->home, 0777), 0);
    assert_int_equal(mkdir(club->recordings, 0777), 0);
}

void club_close(struct club *club)
{
    scratch_close(&club->scratch);
}

char *club_run(const struct club *club, const char *const *words, int status)
{
    struct program program;
    return program_get_said(&program, &club->scratch, words, status);
}
