/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_writer.h"

#include <stdio.h>
#include <stdlib.h>

#include "recording/example.h"
#include "recording/written.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* What was written, in every way to write it, is what is read. */
static void test_what_goes_in_comes_out(void **state)
{
    struct collector expected;
    const struct sh_block_sink into = collector_open(&expected);
    assert_int_equal(example_push(&into, 0.0, 7.4, NULL), SH_OK);
    for (int way = 0; way < 4; way++) {
        struct written f;
        struct collector got;
        bool to_flac = way / 2 == 1;
        written_start(&f);
        f.config.is_synced = way % 2 == 1;
        written_open(&f);
        assert_int_equal(example_push(&f.sink, 0.0, 7.4, NULL), SH_OK);
        assert_int_equal(sh_recording_writer_finish(f.writer, to_flac, NULL), SH_OK);
        written_play(&f, &got);
        collector_check_same(&got, &expected);
        assert_int_equal(written_has_file(&f, "string.wav"), !to_flac);
        assert_int_equal(written_has_file(&f, "bow.wav"), !to_flac);
        assert_int_equal(written_has_file(&f, "string.flac"), to_flac);
        assert_int_equal(written_has_file(&f, "bow.flac"), to_flac);
        assert_string_equal(sh_recording_writer_session(f.writer)->streams[1].file,
                            to_flac ? "bow.flac" : "bow.wav");
        collector_close(&got);
        written_close(&f);
    }
    collector_close(&expected);
}

static void test_the_session_comes_back(void **state)
{
    struct written f;
    struct sh_session session;
    const struct sh_mark limit = {.kind = SH_MARK_LIMIT,
                                  .what = "finger_peak_n",
                                  .per = "shot",
                                  .most = {true, 45.0},
                                  .kept = 7};
    const struct sh_mark arrow = {
        .t_s = 0.25, .kind = SH_MARK_ARROW, .shot = {true, 1.0}, .score = {true, 9.0}};
    const struct sh_frame_counts counts = {740, 1, 2, 3, 30, 5};
    written_start(&f);
    assert_int_equal(sh_session_add_mark(&f.session, &limit), SH_OK);
    (void)snprintf(f.session.streams[0].file, SH_SESSION_FILE_BYTES, "../elsewhere.wav");
    written_open(&f);
    sh_session_close(&f.session);
    assert_int_equal(example_push(&f.sink, 0.0, 0.7, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &arrow, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 0, &counts), SH_OK);
    assert_int_equal(sh_recording_writer_set_counts(f.writer, 2, &counts), SH_ERR_ARGUMENT);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    written_read_session(&f, &session);
    assert_string_equal(session.athlete, "plover");
    assert_int_equal(session.n_marks, 2);
    assert_int_equal(session.marks[0].kind, SH_MARK_LIMIT);
    assert_near(session.marks[0].most.value, 45.0, 0.0, 0.0);
    assert_int_equal(session.marks[1].kind, SH_MARK_ARROW);
    assert_near(session.marks[1].t_s, 0.25, 0.0, 0.0);
    assert_int_equal(session.n_streams, 2);
    assert_string_equal(session.streams[0].file, "string.wav");
    assert_int_equal(session.streams[0].n_gaps, 1);
    assert_int_equal(session.streams[0].gaps[0].frame, 20);
    assert_int_equal(session.streams[0].gaps[0].n_frames, 30);
    assert_int_equal(session.streams[0].timebase.n_anchors, 1);
    assert_memory_equal(&session.streams[0].frames, &counts, sizeof counts);
    assert_near(session.streams[1].stream.offset_s, 0.0031, 0.0, 0.0);
    sh_session_close(&session);
    written_close(&f);
}

static void test_unknown_keys_go_along(void **state)
{
    static const char text[] =
        "{\"format\": \"stringhand-recording\", \"version\": 1, \"club\": \"brickworks\", "
        "\"streams\": [{\"name\": \"a\", \"file\": \"b.wav\", \"rate_hz\": 10, \"maker\": "
        "\"heron\", \"channels\": [{\"role\": \"sound\", \"serial\": 12}]}], "
        "\"marks\": [{\"t_s\": 1, \"kind\": \"whistle\", \"loud\": true}]}";
    struct written f;
    struct sh_session_json *kept = NULL;
    const double raw[3] = {1.0, 2.0, 3.0};
    const struct sh_block block = {0, 0, 3, 1, raw, false};
    const struct sh_mark note = {.kind = SH_MARK_NOTE, .text = "anew"};
    char path[2 * SCRATCH_PATH_BYTES];
    written_start(&f);
    f.session = (struct sh_session){0};
    assert_int_equal(
        sh_session_json_parse(text, sizeof text - 1, "text", &f.session, &kept, NULL), SH_OK);
    f.config.kept = kept;
    written_open(&f);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &note, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    (void)snprintf(path, sizeof path, "%s/%s", f.folder, SH_SESSION_JSON_FILE);
    char *written = scratch_read(path, NULL);
    assert_string_equal(written, "{\n"
                                 "  \"format\": \"stringhand-recording\",\n"
                                 "  \"version\": 1,\n"
                                 "  \"club\": \"brickworks\",\n"
                                 "  \"streams\": [\n"
                                 "    {\n"
                                 "      \"name\": \"a\",\n"
                                 "      \"file\": \"a.wav\",\n"
                                 "      \"rate_hz\": 10,\n"
                                 "      \"maker\": \"heron\",\n"
                                 "      \"channels\": [{\"role\": \"sound\", \"serial\": 12}]\n"
                                 "    }\n"
                                 "  ],\n"
                                 "  \"marks\": [\n"
                                 "    {\"t_s\": 1, \"kind\": \"whistle\", \"loud\": true},\n"
                                 "    {\"t_s\": 0, \"kind\": \"note\", \"text\": \"anew\"}\n"
                                 "  ]\n"
                                 "}\n");
    free(written);
    sh_session_close(&f.session);
    written_close(&f);
    sh_session_json_close(&kept);
}

/* Each tag is in recording.json before the call comes back, and later writes keep it. */
static void test_tags_come_while_it_runs(void **state)
{
    struct written f;
    char value[WRITTEN_TAG_BYTES];
    const struct sh_mark note = {.t_s = 1.5, .kind = SH_MARK_NOTE, .text = "later"};
    written_start(&f);
    written_open(&f);
    assert_int_equal(written_set_tag(&f, "tab", "thick leather"),
                     SH_OK); /* before any sample */
    written_read_tag(&f, "tab", value);
    assert_string_equal(value, "thick leather");
    assert_int_equal(example_push(&f.sink, 0.0, 2.2, NULL), SH_OK);
    assert_int_equal(written_set_tag(&f, "tab", "thin"), SH_OK);
    assert_int_equal(written_set_tag(&f, "wind", "left"), SH_OK);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &note, NULL), SH_OK);
    assert_int_equal(example_push(&f.sink, 2.2, 4.4, NULL), SH_OK);
    written_read_tag(&f, "tab", value);
    assert_string_equal(value, "thin");
    assert_int_equal(written_set_tag(&f, "wind", ""), SH_OK);
    written_read_tag(&f, "wind", value);
    assert_string_equal(value, "");
    assert_int_equal(written_set_tag(&f, "", "x"), SH_ERR_ARGUMENT);
    assert_int_equal(written_set_tag(&f, "tab", "\xff"), SH_ERR_FORMAT);
    assert_int_equal(written_set_tag(&f, "\xff", "x"), SH_ERR_FORMAT);
    for (int i = 1; i < (int)SH_SESSION_TAGS_MAX; i++) {
        (void)snprintf(value, sizeof value, "%d", i);
        assert_int_equal(written_set_tag(&f, value, "x"), SH_OK);
    }
    assert_int_equal(written_set_tag(&f, "one more", "x"), SH_ERR_FULL);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(written_set_tag(&f, "tab", "late"), SH_ERR_ARGUMENT);
    written_read_tag(&f, "tab", value);
    assert_string_equal(value, "thin");
    written_close(&f);
}

static void test_a_mark_can_be_taken_back(void **state)
{
    struct written f;
    struct sh_session session;
    const struct sh_mark marks[] = {{.t_s = 0.5, .kind = SH_MARK_NOTE, .text = "first"},
                                    {.t_s = 0.6, .kind = SH_MARK_NOTE, .text = "second"},
                                    {.t_s = 0.7, .kind = SH_MARK_NOTE, .text = "third"}};
    written_start(&f);
    written_open(&f);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sh_recording_writer_add_mark(f.writer, &marks[i], NULL), SH_OK);
    }
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 3, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 1, NULL), SH_OK);
    written_read_session(&f, &session);
    assert_int_equal(session.n_marks, 2);
    assert_string_equal(session.marks[1].text, "third");
    sh_session_close(&session);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 1, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_recording_writer_add_mark(f.writer, &marks[0], NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_remove_mark(f.writer, 0, NULL), SH_ERR_ARGUMENT);
    written_read_session(&f, &session);
    assert_int_equal(session.n_marks, 1);
    assert_string_equal(session.marks[0].text, "first");
    sh_session_close(&session);
    written_close(&f);
}

static void test_wide_counts_are_kept_all_the_same(void **state)
{
    struct written f;
    struct collector got;
    const double raw[3] = {5.0, 1e9, -1e9}; /* the range says 24 bits */
    written_start(&f);
    written_open(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 2.0, NULL), SH_OK);
    const struct sh_block block = {0, 2000, 3, 1, raw, false};
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, true, NULL), SH_OK);
    written_play(&f, &got);
    assert_int_equal(got.streams[0].n_frames, 2003);
    assert_near(got.streams[0].raw[2001], 1e9, 0.0, 0.0);
    assert_near(got.streams[0].raw[2002], -1e9, 0.0, 0.0);
    assert_true(written_has_file(&f, "string.wav")); /* FLAC has no 32 bits */
    assert_false(written_has_file(&f, "string.flac"));
    assert_true(written_has_file(&f, "bow.flac"));
    collector_close(&got);
    written_close(&f);
}

static void test_a_long_stream_is_rf64(void **state)
{
    struct written f;
    struct collector got;
    char path[2 * SCRATCH_PATH_BYTES];
    written_start(&f);
    f.config.longest_s = 1e6;
    written_open(&f);
    assert_int_equal(example_push(&f.sink, 0.0, 0.5, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, false, NULL), SH_OK);
    (void)snprintf(path, sizeof path, "%s/bow.wav", f.folder);
    char *bytes = scratch_read(path, NULL);
    assert_memory_equal(bytes, "RF64", 4); /* 19.2 GB */
    free(bytes);
    (void)snprintf(path, sizeof path, "%s/string.wav", f.folder);
    bytes = scratch_read(path, NULL);
    assert_memory_equal(bytes, "RIFF", 4); /* 3 GB */
    free(bytes);
    written_play(&f, &got);
    assert_int_equal(got.streams[1].n_frames, 1600);
    collector_close(&got);
    written_close(&f);
}

static void test_physical_values_stay_exact(void **state)
{
    struct written f;
    struct collector got;
    const double raw[3] = {0.1, -1e-300, 178.12345678901234};
    const struct sh_block block = {0, 0, 3, 1, raw, false};
    written_start(&f);
    f.session.n_streams = 1;
    f.session.streams[0].stream.channel[0] =
        (struct sh_channel){.role = SH_ROLE_STRING_FORCE, .unit = "N", .is_physical = true};
    written_open(&f);
    assert_int_equal(f.sink.block(f.sink.context, &block, NULL), SH_OK);
    assert_int_equal(sh_recording_writer_finish(f.writer, true, NULL), SH_OK);
    written_play(&f, &got);
    assert_int_equal(got.streams[0].n_frames, 3);
    assert_memory_equal(got.streams[0].raw, raw, sizeof raw);
    collector_close(&got);
    written_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_goes_in_comes_out),
        cmocka_unit_test(test_the_session_comes_back),
        cmocka_unit_test(test_unknown_keys_go_along),
        cmocka_unit_test(test_tags_come_while_it_runs),
        cmocka_unit_test(test_a_mark_can_be_taken_back),
        cmocka_unit_test(test_wide_counts_are_kept_all_the_same),
        cmocka_unit_test(test_a_long_stream_is_rf64),
        cmocka_unit_test(test_physical_values_stay_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
