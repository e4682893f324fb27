/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/goal_entry.h"

#include <string.h>

#include "app/typed.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_command command = {.name = "goals",
                                          .operands = "ATHLETE",
                                          .n_operands_min = 1,
                                          .n_operands_max = 1,
                                          .options = sh_goal_entry_options,
                                          .n_options = SH_GOAL_ENTRY_OPTIONS};

/* Reads "goals wren" with more words, NULL at the end. */
static enum sh_status
read_words(const char *const *more, struct sh_goal_entry *entry, struct sh_error *err)
{
    const char *words[TYPED_WORDS_MAX + 1] = {"wren"};
    struct typed typed;
    for (size_t i = 0; more[i] != NULL; i++) {
        words[i + 1] = more[i];
    }
    *err = (struct sh_error){0};
    typed_parse(&typed, &command, words);
    return sh_goal_entry_read(&command, &typed.line, entry, err);
}

static void test_what_is_asked(void **state)
{
    struct sh_goal_entry entry;
    struct sh_error err;
    const char *look[] = {NULL};
    const char *set[] = {"--hold", "2.0-3.25", "--by", "coach", "--on", "2026-05-14", NULL};
    const char *best[] = {"--from-best", "--on", "2026-05-14", NULL};
    const char *clear[] = {"--clear", NULL};
    assert_int_equal(read_words(look, &entry, &err), SH_OK);
    assert_int_equal(entry.kind, SH_GOAL_ENTRY_NONE);
    assert_int_equal(read_words(set, &entry, &err), SH_OK);
    assert_int_equal(entry.kind, SH_GOAL_ENTRY_SET);
    assert_string_equal(entry.goal.what, "hold_time_s");
    assert_near(entry.goal.least, 2.0, 0, 0);
    assert_near(entry.goal.most, 3.25, 0, 0);
    assert_string_equal(entry.goal.basis, "person");
    assert_string_equal(entry.goal.set_by, "coach");
    assert_string_equal(entry.goal.set_on, "2026-05-14");
    assert_int_equal(read_words(best, &entry, &err), SH_OK);
    assert_int_equal(entry.kind, SH_GOAL_ENTRY_FROM_BEST);
    assert_string_equal(entry.goal.basis, "best-arrows");
    assert_string_equal(entry.goal.set_by, "");
    assert_int_equal(read_words(clear, &entry, &err), SH_OK);
    assert_int_equal(entry.kind, SH_GOAL_ENTRY_CLEAR);
}

static void expect_no_band(const char *band)
{
    struct sh_goal_entry entry;
    struct sh_error err;
    const char *words[] = {"--hold", band, NULL};
    if (read_words(words, &entry, &err) != SH_ERR_ARGUMENT ||
        strstr(err.todo, "2.0-3.0") == NULL) {
        fail_msg("'%s' was taken", band);
    }
}

static void test_what_is_refused(void **state)
{
    static const char *const bands[] = {"",      "2",     "2-",     "-2-3",  "2-2",   "3-2",
                                        "0-2",   "2-3s",  "2--3",   "nan-3", "2-inf", "2-61",
                                        "2-3-4", "2.0:3", "2-+3.0", " 2-3"};
    struct sh_goal_entry entry;
    struct sh_error err;
    for (size_t i = 0; i < sizeof bands / sizeof bands[0]; i++) {
        expect_no_band(bands[i]);
    }
    const char *whole[] = {"--hold", "2-60", NULL};
    const char *both[] = {"--hold", "2-3", "--clear", NULL};
    const char *idle[] = {"--by", "coach", NULL};
    const char *bytes[] = {"--hold", "2-3", "--by", "\xff", NULL};
    const char *day[] = {"--hold", "2-3", "--on", "soon", NULL};
    assert_int_equal(read_words(whole, &entry, &err), SH_OK);
    assert_int_equal(read_words(both, &entry, &err), SH_ERR_ARGUMENT);
    assert_int_equal(read_words(idle, &entry, &err), SH_ERR_ARGUMENT);
    assert_int_equal(read_words(bytes, &entry, &err), SH_ERR_ARGUMENT);
    assert_int_equal(read_words(day, &entry, &err), SH_ERR_ARGUMENT);
}

/* A new goal ends the one before, which stays; none ends twice. */
static void test_the_history_stays(void **state)
{
    struct sh_person person = {.name = "wren"};
    struct sh_goal_entry entry;
    struct sh_error err;
    const char *first[] = {"--hold", "2-3", "--on", "2026-05-14", NULL};
    const char *second[] = {"--hold", "2.5-3", "--on", "2026-06-01", NULL};
    const char *clear[] = {"--clear", "--on", "2026-07-01", NULL};
    const char *const *const all[] = {first, second, clear};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(read_words(all[i], &entry, &err), SH_OK);
        const struct sh_person_file_change change = sh_goal_entry_make_change(&entry);
        assert_int_equal(change.apply(change.context, &person, &err), SH_OK);
    }
    assert_int_equal(person.n_goals, 2);
    assert_string_equal(person.goals[0].ended_on, "2026-06-01");
    assert_string_equal(person.goals[1].ended_on, "2026-07-01");
    assert_null(sh_person_find_goal(&person, "hold_time_s"));
    const struct sh_person_file_change again = sh_goal_entry_make_change(&entry);
    assert_int_equal(again.apply(again.context, &person, &err), SH_ERR_NOT_FOUND);
    sh_person_close(&person);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_asked),
        cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_the_history_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
