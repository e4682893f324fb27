/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/made_load.h"

#include <string.h>

#include "base/day.h"
#include "support/cmocka_all.h"

#define LONG_DAYS 30

static int get_day(const char *date)
{
    int day = 0;
    assert_true(sh_day_parse(date, &day));
    return day;
}

static struct sh_day_load *find(const struct made_load *made, const char *date)
{
    struct sh_day_load *day = sh_day_load_list_find(&made->days, get_day(date));
    assert_non_null(day);
    return day;
}

static void draw_on(struct sh_day_load *day, bool is_let_down, bool is_clipped)
{
    static const double impulse[] = {207.25, 199.5, 103.125};
    struct sh_day_load_draw draw = {.is_let_down = is_let_down};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        draw.impulse_n_s[i] = sh_quantity_known(impulse[i], 2.0);
        draw.peak_n[i] = is_let_down ? sh_quantity_unknown(SH_WHY_UNRESOLVED)
                                     : sh_quantity_known(impulse[i] / 3.0, 0.7);
    }
    if (is_clipped) {
        draw.impulse_n_s[2] = sh_quantity_unknown(SH_WHY_CLIPPED);
    }
    sh_day_load_add_draw(day, &draw, 50.0);
}

static void fill_days(struct made_load *made, bool is_long)
{
    struct sh_day_load *first = find(made, "2026-05-07");
    for (int i = 0; is_long && i < LONG_DAYS; i++) {
        struct sh_day_load *day = &made->days.days[i];
        sh_day_load_add_recording(day, true);
        draw_on(day, false, false);
    }
    sh_day_load_add_recording(first, true);
    draw_on(first, false, false);
    draw_on(first, true, false);
    sh_day_load_list_set_rest(&made->days, get_day("2026-05-08"));
    sh_day_load_add_by_hand(find(made, "2026-05-11"), 60, 160.0);
    sh_day_load_add_recording(find(made, "2026-05-12"), false);
    sh_day_load_add_recording(find(made, "2026-05-13"), true);
    draw_on(find(made, "2026-05-13"), false, false);
    draw_on(find(made, "2026-05-13"), false, true);
    sh_day_load_list_settle(&made->days);
}

static void fill_limits(struct made_load *made)
{
    const struct sh_person_limit limits[] = {
        {.what = "finger_peak_n",
         .finger = "ring",
         .per = "shot",
         .most = {true, 45.0},
         .weekly_step = {true, 2.5},
         .set_by = "hand <clinic>",
         .set_on = "2026-05-01",
         .from = "2026-05-01",
         .until = "2026-06-01"},
        {.what = "finger_share",
         .finger = "ring",
         .per = "day",
         .most = {true, 0.25},
         .until = "2026-05-01"},
        {.what = "rest_s",
         .per = "shot",
         .least = {true, 60.0},
         .weekly_step = {true, -5.0},
         .from = "2026-05-01"},
        {.what = "finger_impulse_n_s", .per = "day", .most = {true, 5000.0}},
    };
    const int trouble = get_day("2026-05-13");
    const struct sh_limit_plan_history history = {.trouble = &trouble, .n_trouble = 1};
    for (size_t i = 0; i < 4; i++) {
        made->limit[i] = limits[i];
        made->entry[i].number = i + 1;
        made->entry[i].limit = &made->limit[i];
        sh_limit_plan_find(&made->limit[i], &history, made->sheet.last_day,
                           &made->entry[i].plan);
    }
    made->sheet.limits = made->entry;
    made->sheet.n_limits = 4;
    made->verdict[0] =
        (struct sh_load_sheet_verdict){get_day("2026-05-11"), 4, SH_LIMIT_DAY_UNKNOWN};
    made->verdict[1] =
        (struct sh_load_sheet_verdict){get_day("2026-05-13"), 1, SH_LIMIT_DAY_REACHED};
    made->sheet.verdicts = made->verdict;
    made->sheet.n_verdicts = 2;
}

static void fill_rest(struct made_load *made)
{
    made->rating[0] = (struct sh_rating){get_day("2026-05-06"), SH_RATING_AFTER, 1.0};
    made->rating[1] = (struct sh_rating){get_day("2026-05-07"), SH_RATING_BEFORE, 1.0};
    made->rating[2] = (struct sh_rating){get_day("2026-05-13"), SH_RATING_DURING, 2.5};
    made->sheet.ratings = made->rating;
    made->sheet.n_ratings = 3;
    made->sensor[0] = (struct sh_load_sheet_sensor){.finger = 0,
                                                    .has_channel = true,
                                                    .calibrated = "2026-05-01",
                                                    .u_ratio = 0.012,
                                                    .at_n = 50.0,
                                                    .first_day = get_day("2026-05-07"),
                                                    .last_day = get_day("2026-05-13"),
                                                    .n_recordings = 2};
    made->sensor[1] = made->sensor[0];
    made->sensor[1].finger = 1;
    made->sensor[1].calibrated = "";
    made->sensor[1].u_ratio = 0.0;
    made->sensor[2] = made->sensor[1];
    made->sensor[2].finger = 2;
    made->sensor[2].has_channel = false;
    made->sensor[2].n_recordings = 1;
    made->sensor[2].last_day = made->sensor[2].first_day;
    made->sheet.sensors = made->sensor;
    made->sheet.n_sensors = 3;
}

void made_load_open(struct made_load *made, bool is_long)
{
    memset(made, 0, sizeof *made);
    const int first = get_day("2026-05-07");
    made->sheet.athlete = "w<ren";
    made->sheet.first_day = first;
    made->sheet.last_day = get_day(is_long ? "2026-05-07" : "2026-05-16");
    made->sheet.level_n = 50.0;
    assert_int_equal(sh_day_load_list_open(is_long ? first - LONG_DAYS : first,
                                           get_day("2026-05-16"), &made->days),
                     SH_OK);
    fill_days(made, is_long);
    assert_int_equal(sh_load_history_open(&made->days, &made->history), SH_OK);
    made->sheet.history = &made->history;
    fill_limits(made);
    fill_rest(made);
}

void made_load_close(struct made_load *made)
{
    sh_load_history_close(&made->history);
    sh_day_load_list_close(&made->days);
}
