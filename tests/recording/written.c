/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/written.h"

#include <stdio.h>
#include <string.h>

#include "recording/example.h"
#include "support/cmocka_all.h"

void written_start(struct written *f)
{
    *f = (struct written){.config = sh_recording_writer_config_default()};
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "2026-05-14_0930_plover", f->folder);
    example_open(&f->session);
}

void written_open(struct written *f)
{
    assert_int_equal(
        sh_recording_writer_open(f->folder, &f->session, &f->config, &f->writer, NULL), SH_OK);
    f->sink = sh_recording_writer_sink(f->writer);
}

void written_close(struct written *f)
{
    sh_recording_writer_close(&f->writer);
    assert_null(f->writer);
    sh_recording_writer_close(&f->writer);
    scratch_close(&f->scratch);
}

void written_play(const struct written *f, struct collector *collector)
{
    struct sh_error err = {0};
    if (collector_read(collector, f->folder, NULL, &err) != SH_OK) {
        fail_msg("%s: %s", err.where, err.what);
    }
}

void written_read_session(const struct written *f, struct sh_session *session)
{
    *session = (struct sh_session){0};
    assert_int_equal(sh_session_json_read(f->folder, session, NULL, NULL), SH_OK);
}

bool written_has_file(const struct written *f, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/%s", f->folder, name);
    return scratch_exists(path);
}

enum sh_status written_set_tag(struct written *f, const char *key, const char *value)
{
    struct sh_tag tag = {.key = ""};
    (void)snprintf(tag.key, sizeof tag.key, "%s", key);
    (void)snprintf(tag.value, sizeof tag.value, "%s", value);
    return sh_recording_writer_set_tag(f->writer, &tag, NULL);
}

void written_read_tag(const struct written *f, const char *key, char value[WRITTEN_TAG_BYTES])
{
    struct sh_session session;
    written_read_session(f, &session);
    value[0] = '\0';
    for (size_t i = 0; i < session.n_tags; i++) {
        if (strcmp(session.tags[i].key, key) == 0) {
            (void)snprintf(value, WRITTEN_TAG_BYTES, "%s", session.tags[i].value);
        }
    }
    sh_session_close(&session);
}
