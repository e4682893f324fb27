/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/session_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The example of docs/recording-format.md with keys nobody knows, laid out as we write. */
static const char example[] =
    "{\n"
    "  \"format\": \"stringhand-recording\",\n"
    "  \"version\": 1,\n"
    "  \"started\": \"2026-05-14T09:30:00.000Z\",\n"
    "  \"utc_offset_min\": 120,\n"
    "  \"session\": \"tuesday evening\",\n"
    "  \"athlete\": \"wren\",\n"
    "  \"distance_m\": 70,\n"
    "  \"tags\": {\"tab\": \"thick leather\", \"wind\": \"still\"},\n"
    "  \"club\": \"brickworks\",\n"
    "  \"bow\": {\n"
    "    \"name\": \"blue 66\",\n"
    "    \"draw_weight_n\": 178.0,\n"
    "    \"stiffness_n_per_m\": 410.0,\n"
    "    \"stiffness_u_n_per_m\": 8.0,\n"
    "    \"clicker\": true,\n"
    "    \"limbs\": {\"kind\": \"wood\", \"years\": [2024, 2025]}\n"
    "  },\n"
    "  \"streams\": [\n"
    "    {\n"
    "      \"name\": \"string\",\n"
    "      \"file\": \"string.wav\",\n"
    "      \"rate_hz\": 1000.0,\n"
    "      \"offset_s\": 0.0,\n"
    "      \"offset_u_s\": 0.0002,\n"
    "      \"clock\": [[0, 0.0, 0.0002], [10000, 10.0003, 0.0002]],\n"
    "      \"channels\": [\n"
    "        {\n"
    "          \"role\": \"string_force\",\n"
    "          \"unit\": \"N\",\n"
    "          \"calibrated\": \"2026-05-01\",\n"
    "          \"scale\": 0.0125,\n"
    "          \"scale_u\": 4e-5,\n"
    "          \"zero\": 812,\n"
    "          \"zero_u\": 3,\n"
    "          \"delay_s\": 0.0005,\n"
    "          \"delay_u_s\": 0.0002,\n"
    "          \"range\": [-32768, 32767]\n"
    "        }\n"
    "      ],\n"
    "      \"gaps\": [{\"frame\": 12034, \"frames\": 18}],\n"
    "      \"frames\": {\n"
    "        \"good\": 612400,\n"
    "        \"damaged\": 2,\n"
    "        \"repeated\": 0,\n"
    "        \"late\": 0,\n"
    "        \"lost\": 18,\n"
    "        \"skipped_bytes\": 31\n"
    "      }\n"
    "    },\n"
    "    {\n"
    "      \"name\": \"bow\",\n"
    "      \"file\": \"bow.flac\",\n"
    "      \"rate_hz\": 3200.0,\n"
    "      \"offset_s\": 0.0031,\n"
    "      \"channels\": [\n"
    "        {\n"
    "          \"role\": \"bow_acceleration\",\n"
    "          \"serial\": 1.5,\n"
    "          \"axis\": \"x\",\n"
    "          \"unit\": \"m/s2\",\n"
    "          \"scale\": 0.0383,\n"
    "          \"zero\": 0,\n"
    "          \"range\": [-4096, 4095]\n"
    "        }\n"
    "      ]\n"
    "    }\n"
    "  ],\n"
    "  \"marks\": [\n"
    "    {\"t_s\": 31.2, \"kind\": \"clock\", \"seconds\": 120, \"arrows\": 6},\n"
    "    {\"t_s\": 52.9, \"kind\": \"arrow\", \"shot\": 3, \"score\": 9},\n"
    "    {\"t_s\": 151.0, \"kind\": \"end\", \"scores\": [9, 9, 8]},\n"
    "    {\"t_s\": 60.0, \"kind\": \"note\", \"text\": \"new tab leather\", \"by\": "
    "\"plover\"},\n"
    "    {\"t_s\": 60.5, \"kind\": \"whistle\", \"loud\": true},\n"
    "    {\"t_s\": 61.0, \"kind\": \"correction\", \"shot\": 2, \"event\": \"clicker_s\", "
    "\"value_s\": 49.812},\n"
    "    {\"t_s\": 0.0, \"kind\": \"pain\", \"when\": \"before\", \"rating\": 2},\n"
    "    {\n"
    "      \"t_s\": 0.0,\n"
    "      \"kind\": \"limit\",\n"
    "      \"what\": \"finger_peak_n\",\n"
    "      \"finger\": \"ring\",\n"
    "      \"per\": \"shot\",\n"
    "      \"most\": 45.0,\n"
    "      \"set_by\": \"hand clinic\",\n"
    "      \"from\": \"2026-05-01\",\n"
    "      \"until\": \"2026-06-01\"\n"
    "    }\n"
    "  ]\n"
    "}\n";

#define LEAST_STREAMS                                                                          \
    "\"streams\": [{\"name\": \"a\", \"file\": \"a.wav\", \"rate_hz\": 10, \"channels\": "     \
    "[{\"role\": \"sound\"}]}]"
#define LEAST_HEAD "{\"format\": \"stringhand-recording\", \"version\": 1"

static enum sh_status parse(const char *text,
                            struct sh_session *session,
                            struct sh_session_json **kept,
                            struct sh_error *err)
{
    *session = (struct sh_session){0};
    return sh_session_json_parse(text, strlen(text), "t/recording.json", session, kept, err);
}

static void check_format(const struct sh_session *session,
                         const struct sh_session_json *kept,
                         const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_session_json_format(session, kept, &text, NULL), SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

/* A copy of the example with one part replaced; the caller frees it. */
static char *replace(const char *text, const char *part, const char *with)
{
    const char *at = strstr(text, part);
    assert_non_null(at);
    size_t n_bytes = strlen(text) + strlen(with) + 1;
    char *copy = malloc(n_bytes);
    assert_non_null(copy);
    (void)snprintf(copy, n_bytes, "%.*s%s%s", (int)(at - text), text, with, at + strlen(part));
    return copy;
}

static void test_values_land_in_their_members(void **state)
{
    struct sh_session session;
    assert_int_equal(parse(example, &session, NULL, NULL), SH_OK);
    assert_string_equal(session.started, "2026-05-14T09:30:00.000Z");
    assert_int_equal(session.utc_offset_min, 120);
    assert_string_equal(session.session, "tuesday evening");
    assert_string_equal(session.athlete, "wren");
    assert_true(session.distance_m.is_given);
    assert_near(session.distance_m.value, 70.0, 0.0, 0.0);
    assert_int_equal(session.n_tags, 2);
    assert_string_equal(session.tags[1].key, "wind");
    assert_string_equal(session.tags[1].value, "still");
    assert_string_equal(session.bow.name, "blue 66");
    assert_true(sh_quantity_is_known(&session.bow.draw_weight_n));
    assert_near(session.bow.draw_weight_n.value, 178.0, 0.0, 0.0);
    assert_near(session.bow.draw_weight_n.u, 0.0, 0.0, 0.0);
    assert_near(session.bow.stiffness_n_per_m.value, 410.0, 0.0, 0.0);
    assert_near(session.bow.stiffness_n_per_m.u, 8.0, 0.0, 0.0);
    assert_int_equal(session.bow.clicker, SH_ANSWER_YES);
    assert_int_equal(session.n_streams, 2);
    assert_string_equal(session.streams[1].file, "bow.flac");
    assert_int_equal(session.n_marks, 8);
    assert_int_equal(session.marks[0].kind, SH_MARK_CLOCK);
    assert_int_equal(session.marks[4].kind, SH_MARK_OTHER);
    assert_int_equal(session.marks[7].kept, 8);
    sh_session_close(&session);
}

static void test_unchanged_text_comes_back_to_the_byte(void **state)
{
    struct sh_session session;
    struct sh_session_json *kept = NULL;
    assert_int_equal(parse(example, &session, &kept, NULL), SH_OK);
    check_format(&session, kept, example);
    check_format(&session, kept, example);
    sh_session_close(&session);
    sh_session_json_close(&kept);
    assert_null(kept);
    sh_session_json_close(&kept);
}

static void test_a_new_text_reads_back_the_same(void **state)
{
    struct sh_session session;
    struct sh_session again;
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(parse(example, &session, NULL, NULL), SH_OK);
    /* without the tree there is nothing to keep of a kind nobody knows */
    session.marks[4] = session.marks[3];
    for (size_t i = 0; i < session.n_marks; i++) {
        session.marks[i].kept = 0;
    }
    assert_int_equal(sh_session_json_format(&session, NULL, &text, NULL), SH_OK);
    assert_int_equal(parse(text.data, &again, NULL, NULL), SH_OK);
    assert_int_equal(again.n_marks, session.n_marks);
    for (size_t i = 0; i < again.n_marks; i++) {
        assert_int_equal(again.marks[i].kept, i + 1);
        again.marks[i].kept = 0;
    }
    check_format(&again, NULL, text.data);
    sh_session_close(&session);
    sh_session_close(&again);
    sh_text_close(&text);
}

static void test_marks_are_added_changed_moved_and_removed(void **state)
{
    struct sh_session session;
    struct sh_session_json *kept = NULL;
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(parse(example, &session, &kept, NULL), SH_OK);
    const struct sh_mark whistle = session.marks[4];
    struct sh_mark note = session.marks[3];
    strcpy(note.text, "old tab leather");
    const struct sh_mark fresh = {.t_s = 1.0, .kind = SH_MARK_CLOCK_STOP};
    session.marks[0] = whistle;
    session.marks[1] = note;
    session.marks[2] = fresh;
    session.n_marks = 3;
    assert_int_equal(sh_session_json_format(&session, kept, &text, NULL), SH_OK);
    const char *marks = strstr(text.data, "  \"marks\"");
    assert_non_null(marks);
    assert_string_equal(
        marks, "  \"marks\": [\n"
               "    {\"t_s\": 60.5, \"kind\": \"whistle\", \"loud\": true},\n"
               "    {\"t_s\": 60.0, \"kind\": \"note\", \"text\": \"old tab leather\", \"by\": "
               "\"plover\"},\n"
               "    {\"t_s\": 1, \"kind\": \"clock-stop\"}\n"
               "  ]\n"
               "}\n");
    sh_session_close(&session);
    sh_session_json_close(&kept);
    sh_text_close(&text);
}

static void test_people_and_bow_can_change(void **state)
{
    struct sh_session session;
    struct sh_session_json *kept = NULL;
    assert_int_equal(parse(example, &session, &kept, NULL), SH_OK);
    strcpy(session.athlete, "rook");
    session.n_tags = 1;
    session.bow.clicker = SH_ANSWER_UNKNOWN;
    session.bow.stiffness_n_per_m = sh_quantity_known(412.5, 8.0);
    char *a = replace(example, "\"athlete\": \"wren\"", "\"athlete\": \"rook\"");
    char *b = replace(a, ", \"wind\": \"still\"", "");
    char *c = replace(b, "    \"clicker\": true,\n", "");
    char *d = replace(c, "410.0", "412.5");
    check_format(&session, kept, d);
    free(a);
    free(b);
    free(c);
    free(d);
    sh_session_close(&session);
    sh_session_json_close(&kept);
}

static void test_least_recording(void **state)
{
    struct sh_session session;
    struct sh_session_json *kept = NULL;
    assert_int_equal(parse(LEAST_HEAD ", " LEAST_STREAMS "}", &session, &kept, NULL), SH_OK);
    assert_string_equal(session.athlete, "");
    assert_false(session.distance_m.is_given);
    assert_int_equal(session.bow.draw_weight_n.why, SH_WHY_NOT_GIVEN);
    assert_int_equal(session.bow.clicker, SH_ANSWER_UNKNOWN);
    assert_int_equal(session.n_marks, 0);
    check_format(&session, kept,
                 "{\n"
                 "  \"format\": \"stringhand-recording\",\n"
                 "  \"version\": 1,\n"
                 "  \"streams\": [{\"name\": \"a\", \"file\": \"a.wav\", \"rate_hz\": 10, "
                 "\"channels\": [{\"role\": \"sound\"}]}],\n"
                 "  \"marks\": []\n"
                 "}\n");
    sh_session_close(&session);
    sh_session_json_close(&kept);
}

struct offence {
    const char *text;
    enum sh_status status;
    const char *where;
    const char *what;
};

static void check_offence(const struct offence *offence)
{
    struct sh_session session;
    const struct sh_session zero = {0};
    struct sh_session_json *kept = NULL;
    struct sh_error err = {0};
    char line[SH_ERROR_LINE_BYTES];
    assert_int_equal(parse(offence->text, &session, &kept, &err), offence->status);
    assert_int_equal(err.status, offence->status);
    assert_string_equal(err.where, offence->where);
    assert_non_null(strstr(err.what, offence->what));
    sh_error_format(&err, line);
    assert_null(strchr(line, '\n'));
    assert_null(kept);
    assert_memory_equal(&session, &zero, sizeof session);
}

static void test_what_is_no_recording_is_refused(void **state)
{
    static const struct offence offences[] = {
        {"", SH_ERR_FORMAT, "t/recording.json: line 1", "the text ends too early"},
        {"time,force\n0,1\n", SH_ERR_FORMAT, "t/recording.json: line 1", "this is not JSON"},
        {"{\"a\": 1,\n\"a\": 2}", SH_ERR_FORMAT, "t/recording.json: line 2", "duplicate"},
        {"{\"a\": 1} {}", SH_ERR_FORMAT, "t/recording.json: line 1", "end of file expected"},
        {"[1]", SH_ERR_FORMAT, "t/recording.json", "is not a recording"},
        {"{}", SH_ERR_FORMAT, "t/recording.json: format", "says that this is not a recording"},
        {"{\"format\": 5}", SH_ERR_FORMAT, "t/recording.json: format", "is not a text"},
        {"{\"format\": \"stringhand-analysis\", \"version\": 1}", SH_ERR_FORMAT,
         "t/recording.json: format", "says that this is not a recording"},
        {"{\"format\": \"stringhand-recording\"}", SH_ERR_FORMAT, "t/recording.json: version",
         "is missing"},
        {"{\"format\": \"stringhand-recording\", \"version\": 2}", SH_ERR_UNSUPPORTED,
         "t/recording.json: version", "is not 1"},
        {"{\"format\": \"stringhand-recording\", \"version\": \"1\"}", SH_ERR_FORMAT,
         "t/recording.json: version", "is not a whole number"},
        {LEAST_HEAD "}", SH_ERR_FORMAT, "t/recording.json: streams", "is missing"},
        {LEAST_HEAD ", \"streams\": []}", SH_ERR_FORMAT, "t/recording.json: streams",
         "has not 1 to 8 streams"},
        {LEAST_HEAD ", \"streams\": [1, 2, 3, 4, 5, 6, 7, 8, 9]}", SH_ERR_FORMAT,
         "t/recording.json: streams", "has not 1 to 8 streams"},
    };
    for (size_t i = 0; i < sizeof offences / sizeof offences[0]; i++) {
        check_offence(&offences[i]);
    }
}

static void test_wrong_values_are_named(void **state)
{
    static const struct {
        const char *part;
        const char *with;
        const char *where;
        const char *what;
    } cases[] = {
        {"\"rate_hz\": 1000.0", "\"rate_hz\": 0", "t/recording.json: streams[0].rate_hz",
         "is not above 0"},
        {"\"rate_hz\": 3200.0", "\"rate_hz\": \"3200\"", "t/recording.json: streams[1].rate_hz",
         "is not a number"},
        {"bow_acceleration", "wobble", "t/recording.json: streams[1].channels[0].role",
         "is no role of a channel"},
        {"\"frame\": 12034", "\"frame\": -1", "t/recording.json: streams[0].gaps[0].frame",
         "is not a whole number"},
        {"\"seconds\": 120", "\"seconds\": null", "t/recording.json: marks[0].seconds",
         "is missing"},
        {"2026-05-14T09:30:00.000Z", "14 May 2026", "t/recording.json: started",
         "is not a time in UTC"},
        {"2026-05-14T09:30:00.000Z", "2026-05-14T24:30:00Z", "t/recording.json: started",
         "is not a time in UTC"},
        {"2026-05-14T09:30:00.000Z", "2026-05-14T09:30:00.Z", "t/recording.json: started",
         "is not a time in UTC"},
        {"2026-05-14T09:30:00.000Z", "2026-05-14T09:30:00+02:00", "t/recording.json: started",
         "is not a time in UTC"},
        {"\"utc_offset_min\": 120", "\"utc_offset_min\": 1441",
         "t/recording.json: utc_offset_min", "is not a whole number"},
        {"\"distance_m\": 70", "\"distance_m\": -70", "t/recording.json: distance_m",
         "is below 0"},
        {"\"still\"", "5", "t/recording.json: tags.wind", "is not a text"},
        {"178.0", "0", "t/recording.json: bow.draw_weight_n", "is not above 0"},
        {"\"clicker\": true", "\"clicker\": \"yes\"", "t/recording.json: bow.clicker",
         "is neither true nor false"},
        {"\"athlete\": \"wren\"", "\"athlete\": [\"wren\"]", "t/recording.json: athlete",
         "is not a text"},
        {"\"range\": [-32768, 32767]", "\"range\": [32767, -32768]",
         "t/recording.json: streams[0].channels[0].range", "does not end above its start"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *text = replace(example, cases[i].part, cases[i].with);
        check_offence(&(struct offence){text, SH_ERR_FORMAT, cases[i].where, cases[i].what});
        free(text);
    }
}

static void test_each_cut_is_refused(void **state)
{
    const size_t n_bytes = strlen(example) - 1; /* all but the last line break */
    for (size_t n = 0; n < n_bytes; n++) {
        struct sh_session session = {0};
        struct sh_error err = {0};
        assert_int_equal(sh_session_json_parse(example, n, "cut", &session, NULL, &err),
                         SH_ERR_FORMAT);
        assert_int_equal(err.status, SH_ERR_FORMAT);
    }
}

static void test_tags_have_a_bound(void **state)
{
    struct sh_text text;
    struct sh_session session;
    sh_text_init(&text, 0);
    sh_text_puts(&text, LEAST_HEAD ", " LEAST_STREAMS ", \"tags\": {\"t0\": \"\"");
    for (unsigned i = 1; i < SH_SESSION_TAGS_MAX; i++) {
        sh_text_printf(&text, ", \"t%u\": \"\"", i);
    }
    size_t before = text.n_bytes;
    sh_text_puts(&text, "}}");
    assert_int_equal(parse(text.data, &session, NULL, NULL), SH_OK);
    assert_int_equal(session.n_tags, SH_SESSION_TAGS_MAX);
    sh_session_close(&session);
    text.n_bytes = before;
    sh_text_puts(&text, ", \"more\": \"\"}}");
    check_offence(&(struct offence){text.data, SH_ERR_FORMAT, "t/recording.json: tags",
                                    "has more than 32 tags"});
    sh_text_close(&text);
}

static void test_what_cannot_be_written_is_named(void **state)
{
    struct sh_session session;
    struct sh_error err = {0};
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(parse(example, &session, NULL, NULL), SH_OK);
    /* a mark of a kind nobody knows, without the tree it came from */
    assert_int_equal(sh_session_json_format(&session, NULL, &text, &err), SH_ERR_ARGUMENT);
    session.n_marks = 0;
    strcpy(session.athlete, "\xff");
    err = (struct sh_error){0};
    assert_int_equal(sh_session_json_format(&session, NULL, &text, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what,
                        "the value of athlete cannot be written: the text is not UTF-8");
    assert_int_equal(text.n_bytes, 0);
    sh_session_close(&session);
    sh_text_close(&text);
}

static void test_files_are_read_and_replaced(void **state)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    struct sh_error err = {0};
    scratch_open(&scratch);
    scratch_path(&scratch, SH_SESSION_JSON_FILE, path);
    assert_int_equal(sh_session_json_read(scratch.folder, &session, &kept, &err),
                     SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, path);
    scratch_write(path, example, strlen(example));
    assert_int_equal(sh_session_json_read(scratch.folder, &session, &kept, NULL), SH_OK);
    strcpy(session.athlete, "teal");
    assert_int_equal(sh_session_json_write(scratch.folder, &session, kept, NULL), SH_OK);
    char *expected = replace(example, "wren", "teal");
    char *got = scratch_read(path, NULL);
    assert_string_equal(got, expected);
    free(expected);
    free(got);
    sh_session_close(&session);
    sh_session_json_close(&kept);
    scratch_close(&scratch);
    err = (struct sh_error){0};
    assert_int_equal(sh_session_json_write(scratch.folder, &session, NULL, &err),
                     SH_ERR_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_land_in_their_members),
        cmocka_unit_test(test_unchanged_text_comes_back_to_the_byte),
        cmocka_unit_test(test_a_new_text_reads_back_the_same),
        cmocka_unit_test(test_marks_are_added_changed_moved_and_removed),
        cmocka_unit_test(test_people_and_bow_can_change),
        cmocka_unit_test(test_least_recording),
        cmocka_unit_test(test_what_is_no_recording_is_refused),
        cmocka_unit_test(test_wrong_values_are_named),
        cmocka_unit_test(test_each_cut_is_refused),
        cmocka_unit_test(test_tags_have_a_bound),
        cmocka_unit_test(test_what_cannot_be_written_is_named),
        cmocka_unit_test(test_files_are_read_and_replaced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
