/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_entry.h"

#include <stdio.h>
#include <string.h>

#include "app/typed.h"
#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

static const struct sh_command limits = {.name = "limits",
                                         .operands = "ATHLETE",
                                         .n_operands_max = 1,
                                         .options = sh_limit_entry_options,
                                         .n_options = SH_LIMIT_ENTRY_OPTIONS};

/* Reads a line of words that are apart by '|'. */
static enum sh_status
read_line(const char *words, struct sh_limit_entry *entry, struct sh_error *err)
{
    char copy[512];
    const char *apart[TYPED_WORDS_MAX + 1] = {NULL};
    size_t n = 0;
    struct typed typed;
    (void)snprintf(copy, sizeof copy, "%s", words);
    for (char *word = strtok(copy, "|"); word != NULL; word = strtok(NULL, "|")) {
        apart[n++] = word;
    }
    typed_parse(&typed, &limits, apart);
    return sh_limit_entry_read(&limits, &typed.line, entry, err);
}

static struct sh_limit_entry read_good(const char *words)
{
    struct sh_limit_entry entry;
    struct sh_error err = {0};
    assert_int_equal(read_line(words, &entry, &err), SH_OK);
    return entry;
}

static void test_a_whole_limit(void **state)
{
    struct sh_limit_entry entry =
        read_good("--set|finger_peak_n|--finger|ring|--per|shot|--most|10lb|--weekly|2N|--by|"
                  "hand clinic|--from|2026-05-01|--until|2026-06-01|--on|2026-04-30");
    assert_int_equal(entry.kind, SH_LIMIT_ENTRY_SET);
    const struct sh_person_limit *limit = &entry.limit;
    assert_string_equal(limit->what, "finger_peak_n");
    assert_string_equal(limit->finger, "ring");
    assert_string_equal(limit->per, "shot");
    assert_near(limit->most.value, 44.482216152605, 0, 1e-12);
    assert_false(limit->least.is_given);
    assert_near(limit->weekly_step.value, 2.0, 0, 0);
    assert_string_equal(limit->set_by, "hand clinic");
    assert_string_equal(limit->set_on, "2026-04-30");
    assert_string_equal(limit->from, "2026-05-01");
    assert_string_equal(limit->until, "2026-06-01");
}

static void test_values(void **state)
{
    struct sh_limit_entry entry =
        read_good("--set|finger_share|--finger|ring|--per|day|--most|25%");
    assert_near(entry.limit.most.value, 0.25, 0, 1e-15);
    entry = read_good("--set|finger_share|--finger|ring|--per|shot|--least|0.1");
    assert_near(entry.limit.least.value, 0.1, 0, 0);
    entry = read_good("--set|rest_s|--per|shot|--least|60|--from|2026-05-01|--weekly|-5");
    assert_near(entry.limit.weekly_step.value, -5.0, 0, 0);
    entry = read_good("--set|draws|--per|day|--most|0");
    assert_near(entry.limit.most.value, 0.0, 0, 0);
    assert_true(entry.limit.most.is_given);
}

static void test_other_wishes(void **state)
{
    struct sh_limit_entry entry = read_good("--on|2026-05-14");
    assert_int_equal(entry.kind, SH_LIMIT_ENTRY_NONE);
    entry = read_good("--end|2|--on|2026-05-14");
    assert_int_equal(entry.kind, SH_LIMIT_ENTRY_END);
    assert_int_equal(entry.number, 2);
    entry = read_good("--confirm|--by|clinic|--on|2026-05-14");
    assert_int_equal(entry.kind, SH_LIMIT_ENTRY_CONFIRM);
    assert_string_equal(entry.confirmation.on, "2026-05-14");
    assert_string_equal(entry.confirmation.by, "clinic");
}

static const struct {
    const char *words;
    const char *says; /* in what or what to do */
} wrong[] = {
    {"--on|soon", "'soon'"},
    {"--set|draws|--most|5", "--per"},
    {"--set|draws|--per|day", "one of --most and --least"},
    {"--set|draws|--per|day|--most|5|--least|2", "one of --most and --least"},
    {"--set|draws|--per|day|--most|many", "'many'"},
    {"--set|draws|--per|day|--most|5N", "'5N'"},
    {"--set|draws|--per|day|--most|-5", "'-5'"},
    {"--set|draws|--per|day|--most|nan", "'nan'"},
    {"--set|draws|--per|day|--most|2e6", "'2e6'"},
    {"--set|draws|--per|shot|--most|5", "one draw"},
    {"--set|rest_s|--per|shot|--most|5", "take least"},
    {"--set|finger_peak_n|--per|shot|--most|5", "name a finger"},
    {"--set|finger_peak_n|--finger|toe|--per|shot|--most|5", "no such finger"},
    {"--set|draws|--per|day|--most|5|--weekly|5", "--from"},
    {"--set|draws|--per|day|--most|5|--weekly|0|--from|2026-05-01", "'0'"},
    {"--set|draws|--per|day|--most|5|--from|2026-02-30", "'2026-02-30'"},
    {"--set|draws|--per|day|--most|5|--from|2026-05-02|--until|2026-05-01", "2026-05-01"},
    {"--set|draws|--per|day|--most|5|--by|\xFF", "UTF-8"},
    {"--set|draws|--per|day|--most|5|--end|1", "one at a time"},
    {"--end|x", "'x'"},
    {"--end|0", "'0'"},
    {"--end|-1", "'-1'"},
    {"--confirm", "--by"},
    {"--by|clinic", "--set or --confirm"},
    {"--most|5", "--set WHAT"},
    {"--end|1|--until|2026-05-01", "--set WHAT"},
};

static void test_what_is_refused(void **state)
{
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_limit_entry entry;
        struct sh_error err = {0};
        char line[SH_ERROR_LINE_BYTES];
        assert_int_equal(read_line(wrong[i].words, &entry, &err), SH_ERR_ARGUMENT);
        sh_error_format(&err, line);
        assert_says(line, wrong[i].says);
    }
}

static void test_applied(void **state)
{
    struct sh_person person = {.name = "wren"};
    struct sh_error err = {0};
    struct sh_limit_entry set = read_good("--set|draws|--per|day|--most|60");
    struct sh_limit_entry end = read_good("--end|2|--on|2026-05-14");
    struct sh_limit_entry confirm = read_good("--confirm|--by|clinic");
    struct sh_limit_entry *entries[] = {&set, &set, &end, &confirm};
    for (size_t i = 0; i < 4; i++) {
        const struct sh_person_file_change change = sh_limit_entry_make_change(entries[i]);
        assert_int_equal(change.apply(change.context, &person, &err), SH_OK);
    }
    assert_int_equal(person.n_limits, 2);
    assert_string_equal(person.limits[0].until, "");
    assert_string_equal(person.limits[1].until, "2026-05-13");
    assert_int_equal(person.n_confirmations, 1);
    end.number = 3;
    const struct sh_person_file_change change = sh_limit_entry_make_change(&end);
    assert_int_equal(change.apply(change.context, &person, &err), SH_ERR_NOT_FOUND);
    sh_person_close(&person);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_whole_limit), cmocka_unit_test(test_values),
        cmocka_unit_test(test_other_wishes),  cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_applied),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
