/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/diary_home.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "app/recorded.h"
#include "recording/person_json.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"

void diary_home_make(const struct scratch *home)
{
    static const char *const folders[] = {"recordings", "people"};
    for (size_t i = 0; i < 2; i++) {
        char path[SCRATCH_PATH_BYTES];
        scratch_path(home, folders[i], path);
        assert_int_equal(mkdir(path, 0700), 0);
    }
}

void diary_home_record(const struct scratch *home, const struct diary_home_recording *recording)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_session *session = calloc(1, sizeof *session);
    struct sh_session_json *kept = NULL;
    struct sh_error err = {0};
    char path[SCRATCH_PATH_BYTES];
    char name[64];
    assert_non_null(session);
    (void)snprintf(name, sizeof name, "recordings/%s", recording->name);
    scratch_path(home, name, path);
    config.set = recording->set != NULL ? recording->set : "fingers";
    config.athlete = recording->athlete;
    config.n_draws = recording->n_draws;
    config.seed = recording->seed;
    recorded_write(&config, path);
    assert_int_equal(sh_session_json_read(path, session, &kept, &err), SH_OK);
    (void)snprintf(session->started, sizeof session->started, "%s", recording->started);
    session->utc_offset_min = recording->utc_offset_min;
    (void)snprintf(session->session, sizeof session->session, "%s",
                   recording->session != NULL ? recording->session : "");
    for (size_t i = 0; i < recording->n_marks; i++) {
        assert_int_equal(sh_session_add_mark(session, &recording->marks[i]), SH_OK);
    }
    assert_int_equal(sh_session_json_write(path, session, kept, &err), SH_OK);
    sh_session_json_close(&kept);
    sh_session_close(session);
    free(session);
}

void diary_home_write_person(const struct scratch *home, const struct sh_person *person)
{
    struct sh_error err = {0};
    assert_int_equal(sh_person_json_write(home->folder, person, NULL, &err), SH_OK);
}
