/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/program.h"
#include "support/cmocka_all.h"

/*
 * The machine-readable output, held against the lists of docs/machine-output.md and
 * docs/definitions.md as they are promised to other programs: written out here by hand.
 */

#define ATHLETE     "wr\"en, of the\nkiln"
#define COLUMNS_MAX 600u
#define ROWS_MAX    8u
#define DRAWS       2u

/* Stem, unit, parts: the measures of the promise, in its order of keys. */
static const struct {
    const char *stem;
    const char *unit;
    size_t n_parts;
} measures[] = {
    {"setup_time", "s", 1},
    {"time_left_draw", "s", 1},
    {"time_left_release", "s", 1},
    {"draw_time", "s", 1},
    {"hold_time", "s", 1},
    {"expansion_time", "s", 1},
    {"expansion", "m", 1},
    {"clicker_reaction", "s", 1},
    {"hold_force", "n", 1},
    {"peak_force", "n", 1},
    {"release_force", "n", 1},
    {"creep", "n", 1},
    {"creep", "m", 1},
    {"creep_rate", "n_per_s", 1},
    {"collapse", "n", 1},
    {"flinch", "n", 1},
    {"flinch", "s", 1},
    {"tremor_rms", "n", 1},
    {"tremor_peak", "hz", 1},
    {"tremor_band", "n", 4},
    {"bow_tremor_rms", "m_s2", 1},
    {"bow_tremor_peak", "hz", 1},
    {"bow_tremor_band", "m_s2", 4},
    {"ring", "hz", 1},
    {"ring_damping", "", 1},
    {"vibration_peak", "m_s2", 1},
    {"finger_share", "", 3},
    {"finger_share_change", "", 3},
    {"finger_impulse", "n_s", 3},
    {"finger_peak", "n", 3},
    {"finger_load_rate", "n_per_s", 3},
    {"finger_slide", "s", 1},
    {"finger_release_spread", "s", 1},
    {"hand_vibration", "m_s2", 1},
    {"finger_release", "s", 3},
};
static const char *const events[] = {"draw_start", "full_draw", "clicker",
                                     "release",    "let_down",  "end"};
static const char *const suffixes[] = {"", "_u", "_lo", "_hi"};
static const char *const top_keys[] = {"format",  "version", "recording",  "athlete", "program",
                                       "history", "quality", "duration_s", "shots"};
static const char *const shot_keys[] = {"n",        "kind",    "score",   "events",
                                        "measures", "quality", "changed", "findings"};
static const char *const finding_keys[] = {"code",      "text",  "value",  "value_u",
                                           "threshold", "basis", "unusual"};

#define N(array) (sizeof(array) / sizeof(array)[0])

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
};

static int open_place(void **state)
{
    static struct place place;
    struct program program;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "evening", place.folder);
    const char *words[] = {
        "simulate", "--out",     place.folder, "--set", "fingers_bow",
        "--draws",  "2",         "--seed",     "6",     "--clock",
        "20",       "--athlete", ATHLETE,      NULL}; /* the clock runs out */
    assert_int_equal(program_run(&program, &place.scratch, "simulate", words), 0);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

/* What `analyze` prints of the recording with up to two more words. */
static char *analyze(const struct place *place, const char *a, const char *b, const char *c)
{
    struct program program;
    const char *words[] = {"analyze", place->folder, a, b, c, NULL};
    int status = program_run(&program, &place->scratch, "analyze", words);
    char *err = program_read_err(&program);
    assert_string_equal(err, "");
    assert_int_equal(status, 0);
    free(err);
    return program_read_out(&program);
}

static void make_key(const char *stem, const char *suffix, const char *unit, char key[64])
{
    (void)snprintf(key, 64, "%s%s%s%s", stem, suffix, unit[0] != '\0' ? "_" : "", unit);
}

static void check_keys(const json_t *object, const char *const *keys, size_t n)
{
    assert_true(json_is_object(object));
    for (size_t i = 0; i < n; i++) {
        if (json_object_get(object, keys[i]) == NULL) {
            fail_msg("there is no key %s", keys[i]);
        }
    }
    assert_int_equal(json_object_size(object), n);
}

static void check_events(const json_t *object)
{
    char key[64];
    for (size_t i = 0; i < N(events); i++) {
        for (size_t k = 0; k < N(suffixes); k++) {
            make_key(events[i], suffixes[k], "s", key);
            const json_t *value = json_object_get(object, key);
            if (!json_is_null(value) && !json_is_number(value)) {
                fail_msg("%s is no time", key);
            }
        }
    }
    assert_non_null(json_object_get(object, "clicker_sensor"));
    assert_non_null(json_object_get(object, "clicker_probability"));
    assert_int_equal(json_object_size(object), N(events) * N(suffixes) + 2);
}

static void check_measures(const json_t *object)
{
    char key[64];
    for (size_t i = 0; i < N(measures); i++) {
        for (size_t k = 0; k < N(suffixes); k++) {
            make_key(measures[i].stem, suffixes[k], measures[i].unit, key);
            const json_t *value = json_object_get(object, key);
            bool is_list = json_is_array(value) && measures[i].n_parts > 1 &&
                           json_array_size(value) == measures[i].n_parts;
            bool is_one = json_is_number(value) && measures[i].n_parts == 1;
            if (!json_is_null(value) && !is_list && !is_one) {
                fail_msg("%s is missing, or of another type", key);
            }
        }
    }
    assert_non_null(json_object_get(object, "vibration_clipped"));
    assert_int_equal(json_object_size(object), N(measures) * N(suffixes) + 1);
}

static json_t *parse(const char *text)
{
    json_error_t error;
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (root == NULL) {
        fail_msg("line %d: %s", error.line, error.text);
    }
    return root;
}

static void check_json(const char *text)
{
    json_t *root = parse(text);
    check_keys(root, top_keys, N(top_keys));
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "stringhand-analysis");
    assert_int_equal(json_integer_value(json_object_get(root, "version")), 1);
    assert_string_equal(json_string_value(json_object_get(root, "recording")), "evening");
    assert_string_equal(json_string_value(json_object_get(root, "athlete")), ATHLETE);
    const json_t *shots = json_object_get(root, "shots");
    assert_int_equal(json_array_size(shots), DRAWS);
    size_t n_findings = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        const json_t *shot = json_array_get(shots, i);
        check_keys(shot, shot_keys, N(shot_keys));
        check_events(json_object_get(shot, "events"));
        check_measures(json_object_get(shot, "measures"));
        assert_int_equal(json_integer_value(json_object_get(shot, "n")), i + 1);
        const json_t *findings = json_object_get(shot, "findings");
        for (size_t k = 0; k < json_array_size(findings); k++) {
            check_keys(json_array_get(findings, k), finding_keys, N(finding_keys));
            n_findings++;
        }
    }
    assert_true(n_findings > 0); /* else their keys were not looked at */
    json_decref(root);
}

static void test_json_has_the_promised_keys(void **state)
{
    char *both = analyze(*state, "--format", "json", NULL);
    char *first = analyze(*state, "--format", "json", "--first-pass");
    check_json(both);
    check_json(first);
    assert_string_not_equal(both, first);
    free(both);
    free(first);
}

static void test_the_same_bytes_twice(void **state)
{
    static const char *const formats[] = {"json", "csv", "table"};
    for (size_t i = 0; i < N(formats); i++) {
        char *once = analyze(*state, "--format", formats[i], NULL);
        char *again = analyze(*state, "--format", formats[i], NULL);
        assert_true(strlen(once) > 200);
        assert_string_equal(once, again);
        free(once);
        free(again);
    }
}

/* A table of RFC 4180, read strictly. */
struct csv {
    char *bytes; /* the cells' texts, NUL behind each */
    size_t n_rows;
    size_t n_cells[ROWS_MAX];
    const char *cell[ROWS_MAX][COLUMNS_MAX];
};

/* Reads one cell from *at on, writes its content to *to; *at stands behind it. */
static void read_cell(const char **at, char **to)
{
    bool is_quoted = **at == '"';
    *at += is_quoted ? 1 : 0;
    for (;;) {
        char c = **at;
        assert_true(c != '\0');
        if (is_quoted && c == '"') {
            if ((*at)[1] != '"') {
                ++*at;
                break;
            }
            ++*at;
        } else if (!is_quoted) {
            assert_true(c != '"');
            if (c == ',' || c == '\r') {
                break;
            }
            assert_true(c != '\n');
        }
        *(*to)++ = c;
        ++*at;
    }
    *(*to)++ = '\0';
    assert_true(**at == ',' || **at == '\r');
}

static void read_csv(const char *text, struct csv *csv)
{
    csv->bytes = malloc(strlen(text) + 1);
    assert_non_null(csv->bytes);
    char *to = csv->bytes;
    const char *at = text;
    csv->n_rows = 0;
    while (*at != '\0') {
        size_t n = 0;
        bool is_more = true;
        assert_true(csv->n_rows < ROWS_MAX);
        while (is_more) {
            assert_true(n < COLUMNS_MAX);
            csv->cell[csv->n_rows][n++] = to;
            read_cell(&at, &to);
            is_more = *at == ',';
            at += is_more ? 1 : 0;
        }
        assert_int_equal(strncmp(at, "\r\n", 2), 0);
        at += 2;
        csv->n_cells[csv->n_rows++] = n;
    }
}

static size_t find_column(const struct csv *csv, const char *name)
{
    size_t found = COLUMNS_MAX;
    for (size_t i = 0; i < csv->n_cells[0]; i++) {
        if (strcmp(csv->cell[0][i], name) == 0) {
            assert_int_equal(found, COLUMNS_MAX); /* a name stands once */
            found = i;
        }
    }
    if (found == COLUMNS_MAX) {
        fail_msg("there is no column %s", name);
    }
    return found;
}

static void check_measure_columns(const struct csv *csv)
{
    char key[64];
    char column[96];
    for (size_t i = 0; i < N(measures); i++) {
        for (size_t k = 0; k < N(suffixes); k++) {
            make_key(measures[i].stem, suffixes[k], measures[i].unit, key);
            for (size_t part = 0; part < measures[i].n_parts; part++) {
                (void)snprintf(column, sizeof column, "%s_%zu", key, part + 1);
                (void)find_column(csv, measures[i].n_parts > 1 ? column : key);
            }
        }
    }
}

static void test_csv_is_of_rfc_4180(void **state)
{
    static struct csv csv;
    char *text = analyze(*state, "--format", "csv", NULL);
    read_csv(text, &csv);
    assert_int_equal(csv.n_rows, 1 + DRAWS);
    for (size_t i = 1; i < csv.n_rows; i++) {
        assert_int_equal(csv.n_cells[i], csv.n_cells[0]);
        assert_string_equal(csv.cell[i][find_column(&csv, "athlete")], ATHLETE);
        assert_string_equal(csv.cell[i][find_column(&csv, "recording")], "evening");
    }
    static const char *const first[] = {"recording", "athlete", "n", "kind", "score"};
    for (size_t i = 0; i < N(first); i++) {
        assert_string_equal(csv.cell[0][i], first[i]);
    }
    for (size_t i = 0; i < N(events); i++) {
        char key[64];
        make_key(events[i], "", "s", key);
        (void)find_column(&csv, key);
    }
    check_measure_columns(&csv);
    free(csv.bytes);
    free(text);
}

/* A number is the same in both, to the last digit. */
static void test_csv_and_json_say_the_same(void **state)
{
    static const char *const keys[] = {"hold_time_s", "hold_force_u_n", "creep_n",
                                       "creep_hi_m"};
    static struct csv csv;
    char *table = analyze(*state, "--format", "csv", NULL);
    char *object = analyze(*state, "--format", "json", NULL);
    read_csv(table, &csv);
    json_t *root = parse(object);
    for (size_t i = 0; i < DRAWS; i++) {
        const json_t *shot = json_array_get(json_object_get(root, "shots"), i);
        const json_t *values = json_object_get(shot, "measures");
        for (size_t k = 0; k < N(keys); k++) {
            double number = strtod(csv.cell[i + 1][find_column(&csv, keys[k])], NULL);
            double expected = json_real_value(json_object_get(values, keys[k]));
            assert_memory_equal(&number, &expected, sizeof number);
        }
        double ring = strtod(csv.cell[i + 1][find_column(&csv, "finger_share_3")], NULL);
        double expected =
            json_real_value(json_array_get(json_object_get(values, "finger_share"), 2));
        assert_memory_equal(&ring, &expected, sizeof ring);
    }
    json_decref(root);
    free(csv.bytes);
    free(table);
    free(object);
}

/* A name must not steer the terminal, nor break the table's lines. */
static void test_the_table_masks_the_name(void **state)
{
    char *table = analyze(*state, "--format", "table", NULL);
    assert_null(strstr(table, ATHLETE));
    assert_non_null(strstr(table, "evening by wr\"en, of the\xEF\xBF\xBDkiln ("));
    free(table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json_has_the_promised_keys),
        cmocka_unit_test(test_the_same_bytes_twice),
        cmocka_unit_test(test_csv_is_of_rfc_4180),
        cmocka_unit_test(test_csv_and_json_say_the_same),
        cmocka_unit_test(test_the_table_masks_the_name),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
