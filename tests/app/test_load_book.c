/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/load_book.h"

#include <string.h>

#include "app/diary_home.h"
#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const struct diary_home_recording recordings[] = {
    {"a", "wren", "2026-05-10T09:30:00.000Z", 120, NULL, NULL, 1, 1, NULL, 0},
    {"b", "wren", "2026-05-12T09:30:00.000Z", 120, NULL, NULL, 1, 2, NULL, 0},
    {"c", "wren", "2026-05-13T09:30:00.000Z", 120, NULL, "force1000", 1, 3, NULL, 0},
};

static int get(const char *date)
{
    int day = 0;
    assert_true(sh_day_parse(date, &day));
    return day;
}

static int open_home(void **state)
{
    struct sh_person person = {.name = "wren"};
    const struct sh_person_rating ratings[] = {
        {.date = "2026-04-20", .when = "after", .rating = 2.0},
        {.date = "2026-05-10", .when = "after", .rating = 3.0},
        {.date = "2026-05-20", .when = "after", .rating = 1.0},
    };
    const struct sh_person_limit limit = {.what = "finger_peak_n",
                                          .finger = "ring",
                                          .per = "shot",
                                          .most = {true, 20.0},
                                          .weekly_step = {true, 2.0},
                                          .from = "2026-05-01"};
    (void)scratch_set_up(state);
    const struct scratch *home = *state;
    diary_home_make(home);
    for (size_t i = 0; i < sizeof recordings / sizeof recordings[0]; i++) {
        diary_home_record(home, &recordings[i]);
    }
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sh_person_add_rating(&person, &ratings[i]), SH_OK);
    }
    assert_int_equal(sh_person_add_limit(&person, &limit), SH_OK);
    diary_home_write_person(home, &person);
    sh_person_close(&person);
    return 0;
}

static void open_book(const struct scratch *home,
                      const char *first,
                      const char *last,
                      struct sh_load_book *book)
{
    const struct sh_load_book_config config = {.home = home->folder,
                                               .athlete = "wren",
                                               .has_first = first != NULL,
                                               .first_day = first != NULL ? get(first) : 0,
                                               .last_day = get(last)};
    struct sh_error err = {0};
    assert_int_equal(sh_load_book_open(&config, book, &err), SH_OK);
}

static void test_the_sheet(void **state)
{
    struct sh_load_book book;
    open_book(*state, NULL, "2026-05-15", &book);
    const struct sh_load_sheet *sheet = &book.sheet;
    assert_string_equal(sheet->athlete, "wren");
    assert_int_equal(sheet->first_day, get("2026-05-10"));
    assert_int_equal(sheet->last_day, get("2026-05-15"));
    assert_int_equal(sheet->history->n_rows, 6);
    assert_int_equal(sheet->n_limits, 1);
    assert_int_equal(sheet->limits[0].number, 1);
    /* the step of the 8th came, that of the 15th waits: the rating rose on the 10th */
    assert_near(sheet->limits[0].plan.value, 22.0, 0, 0);
    assert_true(sheet->limits[0].plan.is_waiting);
    assert_int_equal(sheet->n_ratings, 2); /* the one before is there to compare with */
    assert_near(sheet->ratings[0].rating, 2.0, 0, 0);
    sh_load_book_close(&book);
    sh_load_book_close(&book);
}

/* Two recordings of each finger are one entry; the one without channels is another. */
static void test_sensors(void **state)
{
    struct sh_load_book book;
    open_book(*state, NULL, "2026-05-15", &book);
    const struct sh_load_sheet *sheet = &book.sheet;
    assert_int_equal(sheet->n_sensors, 6);
    assert_int_equal(sheet->sensors[0].finger, 0);
    assert_int_equal(sheet->sensors[0].n_recordings, 2);
    assert_true(sheet->sensors[0].has_channel);
    assert_int_equal(sheet->sensors[0].first_day, get("2026-05-10"));
    assert_int_equal(sheet->sensors[0].last_day, get("2026-05-12"));
    assert_near(sheet->sensors[0].u_ratio, 0.01, 0, 1e-6);
    assert_false(sheet->sensors[1].has_channel);
    assert_int_equal(sheet->sensors[1].n_recordings, 1);
    sh_load_book_close(&book);
}

/* The limit of 20 N and more on the ring finger, told afterwards: nothing was captured under
 * it. */
static void test_what_days_say_of_a_limit(void **state)
{
    struct sh_load_book book;
    open_book(*state, "2026-05-09", "2026-05-14", &book);
    const struct sh_load_sheet *sheet = &book.sheet;
    size_t n_days[SH_LIMIT_DAY_UNKNOWN + 1] = {0};
    for (size_t i = 0; i < sheet->n_verdicts; i++) {
        assert_int_equal(sheet->verdicts[i].number, 1);
        n_days[sheet->verdicts[i].verdict]++;
        const struct sh_day_load *load =
            sh_load_sheet_find(sheet, sheet->verdicts[i].day)->load;
        if (sheet->verdicts[i].verdict == SH_LIMIT_DAY_REACHED) {
            assert_true(load->peak_n[2].value + 2.0 * load->peak_n[2].u >= 20.0);
        }
    }
    assert_true(n_days[SH_LIMIT_DAY_REACHED] >= 1);
    /* the 13th without finger sensors, and the days of which nobody has said anything */
    assert_true(n_days[SH_LIMIT_DAY_UNKNOWN] >= 3);
    sh_load_book_close(&book);
}

static void test_some_days_only(void **state)
{
    struct sh_load_book book;
    open_book(*state, "2026-05-12", "2026-05-12", &book);
    assert_int_equal(book.sheet.first_day, book.sheet.last_day);
    assert_int_equal(book.sheet.n_sensors, 3);
    assert_int_equal(book.sheet.n_ratings, 0);
    assert_int_equal(book.history.n_rows, 3); /* averages know the days before */
    sh_load_book_close(&book);
}

static void test_days_that_are_none(void **state)
{
    const struct scratch *home = *state;
    struct sh_load_book_config config = {
        .home = home->folder, .athlete = "wren", .has_first = true, .first_day = 5};
    struct sh_load_book book;
    struct sh_error err = {0};
    config.last_day = 4;
    assert_int_equal(sh_load_book_open(&config, &book, &err), SH_ERR_ARGUMENT);
    sh_load_book_close(&book);
    config.last_day = get("2226-05-10");
    err = (struct sh_error){0};
    assert_int_equal(sh_load_book_open(&config, &book, &err), SH_ERR_FULL);
    assert_non_null(strstr(err.what, "days lie between"));
    sh_load_book_close(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_sheet),
        cmocka_unit_test(test_sensors),
        cmocka_unit_test(test_what_days_say_of_a_limit),
        cmocka_unit_test(test_some_days_only),
        cmocka_unit_test(test_days_that_are_none),
    };
    return cmocka_run_group_tests(tests, open_home, scratch_tear_down);
}
