/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the stage opens, reads and writes, with each allocation failing in turn. */
#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/example.h"
#include "recording/recording_reader.h"
#include "recording/scratch.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"

/* The linker sends the stage's calls here (--wrap), and jansson is told to come here too; the
 * count-down is the test's own state. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left;

/* Whose allocations count: the stage's own, or those jansson makes for it. */
enum owner { NOBODY, STAGE, JANSSON };

/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static enum owner counted;

void *__real_malloc(size_t n_bytes);
void *__real_calloc(size_t n, size_t n_bytes);
void *__real_realloc(void *old, size_t n_bytes);
void *__wrap_malloc(size_t n_bytes);
void *__wrap_calloc(size_t n, size_t n_bytes);
void *__wrap_realloc(void *old, size_t n_bytes);

static bool fails_now(enum owner owner)
{
    return counted == owner && n_left-- == 0;
}

void *__wrap_malloc(size_t n_bytes)
{
    return fails_now(STAGE) ? NULL : __real_malloc(n_bytes);
}

void *__wrap_calloc(size_t n, size_t n_bytes)
{
    return fails_now(STAGE) ? NULL : __real_calloc(n, n_bytes);
}

void *__wrap_realloc(void *old, size_t n_bytes)
{
    return fails_now(STAGE) ? NULL : __real_realloc(old, n_bytes);
}

static void *allocate_for_jansson(size_t n_bytes)
{
    return fails_now(JANSSON) ? NULL : __real_malloc(n_bytes);
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

struct fixture {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    bool is_synced;
};

static void open_fixture(struct fixture *f)
{
    scratch_open(&f->scratch);
    scratch_path(&f->scratch, "a", f->folder);
    f->is_synced = true;
}

static enum sh_status record(const struct fixture *f, struct sh_error *err)
{
    return example_record(f->folder, f->is_synced, err);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    (void)err;
    *(uint64_t *)context += block->n_frames;
    return SH_OK;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

/* Plays the recording twice. */
static enum sh_status play(const struct fixture *f, struct sh_error *err)
{
    uint64_t n_frames = 0;
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    const struct sh_block_sink sink = {take_block, take_anchor, &n_frames};
    enum sh_status status = sh_recording_reader_open(f->folder, &config, &reader, err);
    for (int pass = 0; pass < 2 && status == SH_OK; pass++) {
        status = sh_recording_reader_push(reader, &sink, err);
    }
    sh_recording_reader_close(&reader);
    return status;
}

/* Reads recording.json, appends a mark and writes it back. */
static enum sh_status rewrite(const struct fixture *f, struct sh_error *err)
{
    const struct sh_session zero = {0};
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    const struct sh_mark mark = {.kind = SH_MARK_NOTE, .text = "b"};
    enum sh_status status = sh_session_json_read(f->folder, &session, &kept, err);
    if (status != SH_OK) {
        assert_null(kept);
        assert_memory_equal(&session, &zero, sizeof session);
        return status;
    }
    status = sh_session_add_mark(&session, &mark);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, NULL, NULL, "%s", sh_status_text(status));
    } else {
        status = sh_session_json_write(f->folder, &session, kept, err);
    }
    sh_session_close(&session);
    sh_session_json_close(&kept);
    return status;
}

typedef enum sh_status work_function(const struct fixture *f, struct sh_error *err);

static enum sh_status
fail_after(work_function *work, const struct fixture *f, enum owner owner, size_t n_before)
{
    struct sh_error err = {0};
    n_left = n_before;
    counted = owner;
    enum sh_status status = work(f, &err);
    counted = NOBODY;
    assert_int_equal(err.status, status);
    return status;
}

/* What a failure of an owner's allocations may come back as. */
static bool is_told(enum sh_status status, enum owner owner, bool is_reading)
{
    /* Reading, jansson tells some of its failures as a text that is no JSON. */
    bool may_be_format = owner == JANSSON && is_reading;
    return status == SH_OK || status == SH_ERR_MEMORY ||
           (may_be_format && status == SH_ERR_FORMAT);
}

static void sweep_recording(enum owner owner, size_t n_least)
{
    size_t n_failures = 0;
    for (enum sh_status status = SH_ERR_MEMORY; status != SH_OK; n_failures++) {
        struct fixture f;
        open_fixture(&f);
        f.is_synced = owner == STAGE; /* jansson's many calls would sync the disk all day */
        status = fail_after(record, &f, owner, n_failures);
        assert_true(is_told(status, owner, false));
        if (scratch_exists(f.folder)) {
            enum sh_status played = play(&f, NULL);
            assert_true(played == SH_OK || played == SH_ERR_SHORT); /* before the first block */
        }
        scratch_close(&f.scratch);
    }
    print_message("%zu allocations failed in turn\n", n_failures - 1);
    assert_true(n_failures > n_least);
}

static void test_recording(void **state)
{
    sweep_recording(STAGE, 30);
    sweep_recording(JANSSON, 500);
}

static void sweep_reading(work_function *work, enum owner owner, size_t n_least)
{
    struct fixture f;
    size_t n_failures = 0;
    open_fixture(&f);
    assert_int_equal(record(&f, NULL), SH_OK);
    for (enum sh_status status = SH_ERR_MEMORY; status != SH_OK; n_failures++) {
        status = fail_after(work, &f, owner, n_failures);
        assert_true(is_told(status, owner, true));
    }
    print_message("%zu allocations failed in turn\n", n_failures - 1);
    assert_true(n_failures > n_least);
    struct sh_session session = {0};
    assert_int_equal(sh_session_json_read(f.folder, &session, NULL, NULL), SH_OK);
    /* the first mark, and that of the one rewriting that went well */
    assert_int_equal(session.n_marks, work == rewrite ? 2 : 1);
    sh_session_close(&session);
    scratch_close(&f.scratch);
}

static void test_playing(void **state)
{
    sweep_reading(play, STAGE, 8);
    sweep_reading(play, JANSSON, 150);
}

static void test_rewriting(void **state)
{
    sweep_reading(rewrite, STAGE, 6);
    sweep_reading(rewrite, JANSSON, 500);
}

int main(void)
{
    json_set_alloc_funcs(allocate_for_jansson, free);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recording),
        cmocka_unit_test(test_playing),
        cmocka_unit_test(test_rewriting),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
