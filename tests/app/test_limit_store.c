/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_store.h"

#include <string.h>

#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A diary by hand: on the 14th a recording of the morning and one of the evening, one the day
 * before; each with a shot of 200, 200, 100 N s and 70, 70, 40 N. */
static struct sh_day_load_draw draw;
static struct sh_diary_recording recordings[3];
static struct sh_diary diary;
static struct sh_limit_store store;
static int today;

static int set_up(void **state)
{
    static const double impulse[] = {200.0, 200.0, 100.0};
    static const double peak[] = {70.0, 70.0, 40.0};
    assert_true(sh_day_parse("2026-05-14", &today));
    memset(recordings, 0, sizeof recordings);
    memset(&diary, 0, sizeof diary);
    memset(&store, 0, sizeof store);
    for (size_t i = 0; i < 3; i++) {
        draw.impulse_n_s[i] = sh_quantity_known(impulse[i], 1.0);
        draw.peak_n[i] = sh_quantity_known(peak[i], 0.5);
        recordings[i].day = i == 2 ? today - 1 : today;
        recordings[i].was_read = true;
        recordings[i].draws = (struct sh_kept_draws){&draw, 1};
        (void)strcpy(recordings[i].session, i == 0 ? "morning" : "evening");
    }
    diary.recordings = recordings;
    diary.n_recordings = 3;
    return 0;
}

static int tear_down(void **state)
{
    sh_limit_store_close(&store);
    sh_limit_store_close(&store);
    return 0;
}

static struct sh_mark
fill(const char *what, const char *finger, const char *per, const char *session)
{
    const struct sh_limit_store_query query = {
        .diary = &diary, .store = &store, .athlete = "wren", .session = session, .day = today};
    struct sh_mark mark = {.kind = SH_MARK_LIMIT, .most = {true, 1.0}};
    (void)strcpy(mark.what, what);
    (void)strcpy(mark.finger, finger);
    (void)strcpy(mark.per, per);
    sh_limit_store_fill(&query, &mark);
    return mark;
}

static void test_a_day_and_a_session(void **state)
{
    assert_near(fill("draws", "", "day", "").before.value, 2.0, 0, 0);
    assert_near(fill("draws", "", "session", "evening").before.value, 1.0, 0, 0);
    assert_near(fill("draws", "", "session", "").before.value, 0.0, 0, 0);
    struct sh_mark mark = fill("finger_impulse_n_s", "ring", "day", "");
    assert_near(mark.before.value, 200.0, 0, 0);
    assert_near(mark.before_u.value, 2.0, 0, 0);
    assert_false(mark.before_unknown.is_given);
    assert_near(fill("finger_impulse_n_s", "", "day", "").before.value, 1000.0, 0, 0);
    assert_near(fill("finger_peak_n", "ring", "day", "").before.value, 40.0, 0, 0);
    mark = fill("finger_share", "ring", "day", "");
    assert_near(mark.before.value, 200.0, 0, 0);
    assert_near(mark.before_all.value, 1000.0, 0, 0);
    assert_false(fill("finger_peak_n", "ring", "shot", "").before.is_given);
}

static void test_takes_of_the_same_capture(void **state)
{
    struct sh_limit_store_take take = {.athlete = "wren"};
    take.tally.n_draws = 3;
    take.tally.impulse_n_s[2].value = 50.0;
    take.tally.peak_n[2].value = 44.0;
    assert_int_equal(sh_limit_store_add(&store, &take), SH_OK);
    (void)strcpy(take.athlete, "rook");
    assert_int_equal(sh_limit_store_add(&store, &take), SH_OK);
    assert_near(fill("draws", "", "day", "").before.value, 5.0, 0, 0);
    assert_near(fill("draws", "", "session", "").before.value, 3.0, 0, 0);
    assert_near(fill("finger_impulse_n_s", "ring", "day", "").before.value, 250.0, 0, 0);
    assert_near(fill("finger_peak_n", "ring", "day", "").before.value, 44.0, 0, 0);
}

/* What is not known of the day is said. */
static void test_what_is_not_known(void **state)
{
    struct sh_person_draws by_hand = {.date = "2026-05-14", .draws = 10};
    diary.person.draws = &by_hand;
    diary.person.n_draws = 1;
    struct sh_mark mark = fill("draws", "", "day", "");
    assert_near(mark.before.value, 12.0, 0, 0);
    assert_false(mark.before_unknown.is_given); /* their number is known, their force is not */
    assert_true(fill("finger_impulse_n_s", "ring", "day", "").before_unknown.value > 0.0);
    assert_true(fill("finger_peak_n", "ring", "day", "").before_unknown.value > 0.0);
    assert_true(fill("finger_share", "ring", "day", "").before_unknown.value > 0.0);
    (void)strcpy(by_hand.date, "2026-05-13");
    assert_false(fill("finger_impulse_n_s", "ring", "day", "").before_unknown.is_given);
    recordings[0].was_read = false;
    recordings[0].draws.n_draws = 0;
    assert_true(fill("draws", "", "day", "").before_unknown.value > 0.0);
    recordings[0].was_read = true;
    store.is_incomplete = true;
    assert_true(fill("draws", "", "session", "").before_unknown.value > 0.0);
}

static void test_a_clipped_draw_and_a_let_down(void **state)
{
    draw.impulse_n_s[2] = sh_quantity_unknown(SH_WHY_CLIPPED);
    draw.peak_n[2] = sh_quantity_unknown(SH_WHY_CLIPPED);
    assert_near(fill("finger_impulse_n_s", "ring", "day", "").before_unknown.value, 2.0, 0, 0);
    assert_near(fill("finger_peak_n", "ring", "day", "").before_unknown.value, 2.0, 0, 0);
    draw.is_let_down = true; /* whose peak has no definition */
    assert_false(fill("finger_peak_n", "ring", "day", "").before_unknown.is_given);
    draw.is_let_down = false;
}

static void test_the_last_rating(void **state)
{
    struct sh_rating ratings[] = {{today - 1, SH_RATING_AFTER, 2.0},
                                  {today, SH_RATING_BEFORE, 1.0},
                                  {today + 1, SH_RATING_BEFORE, 5.0}};
    const struct sh_limit_store_query query = {
        .diary = &diary, .store = &store, .athlete = "wren", .session = "", .day = today};
    double rating = 77.0;
    assert_false(sh_limit_store_find_rating(&query, &rating));
    assert_near(rating, 77.0, 0, 0);
    diary.ratings = ratings;
    diary.n_ratings = 3;
    assert_true(sh_limit_store_find_rating(&query, &rating));
    assert_near(rating, 1.0, 0, 0);
    const struct sh_limit_store_take take = {
        .athlete = "wren", .has_rating = true, .rating = 3.0};
    assert_int_equal(sh_limit_store_add(&store, &take), SH_OK);
    assert_true(sh_limit_store_find_rating(&query, &rating));
    assert_near(rating, 3.0, 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_day_and_a_session, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_takes_of_the_same_capture, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_what_is_not_known, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_a_clipped_draw_and_a_let_down, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_the_last_rating, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
