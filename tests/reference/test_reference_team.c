/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A team's chance to finish in time against exact distributions by SciPy and NumPy. The
 * tolerance of a row is three standard errors of the simulation, which the program states. */
#include <math.h>
#include <stdio.h>

#include "series/team_chance.h"
#include "series/team_made.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define ARCHERS   3u
#define QUANTILES 5000u
#define ERRORS    3.0

/* Archers whose hand-overs take no time. */
struct team {
    struct sh_team_times times[ARCHERS];
    struct sh_team_archer archers[ARCHERS];
};

static void open_team(struct team *team)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        team_made_open(&team->times[a]);
        team->archers[a] = (struct sh_team_archer){.times = &team->times[a]};
    }
}

static void close_team(struct team *team)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        sh_team_times_close(&team->times[a]);
    }
}

/* One row a limit, each with another seed. */
static void check(const char *what,
                  const struct team *team,
                  size_t n_turn,
                  const struct sh_reference_file *file,
                  const char *const names[2])
{
    size_t n = 0;
    const double *limits_s = sh_reference_get(file, names[0], &n);
    const double *expected = sh_reference_get(file, names[1], NULL);
    for (size_t i = 0; i < n; i++) {
        const struct sh_team_plan plan = {.archers = team->archers,
                                          .n_archers = ARCHERS,
                                          .n_arrows = 2,
                                          .n_turn = n_turn,
                                          .shooting_s = limits_s[i]};
        struct sh_team_chance_config config = sh_team_chance_config_default();
        struct sh_team_chance got;
        char name[96];
        config.seed = i + 1;
        config.n_redraws = config.n_inner = 100; /* the intervals are not looked at */
        assert_int_equal(sh_team_chance_get(&plan, &config, &got), SH_OK);
        (void)snprintf(name, sizeof name, "team, %s, %g s", what, limits_s[i]);
        sh_reference_row(name, "SciPy", expected[i], got.orders[0].chance.value,
                         ERRORS * got.orders[0].chance_u);
    }
}

static void test_two_valued(void **state)
{
    static const char *const names[2] = {"two_limits_s", "two_chance"};
    struct sh_reference_file *file = sh_reference_open("team");
    const double *values = sh_reference_get(file, "two_valued", NULL);
    struct team team;
    open_team(&team);
    for (size_t a = 0; a < ARCHERS; a++) {
        const double *of = values + 3 * a; /* fast, slow, quarters that are slow */
        for (size_t i = 0; i < 16; i++) {
            const double next_s = (double)(i % 4) < of[2] ? of[1] : of[0];
            const double first_s = floor((double)i / 4.0) < of[2] ? of[1] : of[0];
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, first_s, &next_s, 1);
        }
    }
    check("two-valued times", &team, 2, file, names);
    close_team(&team);
    sh_reference_close(&file);
}

static void test_exponential(void **state)
{
    static const char *const names[2] = {"mean_limits_s", "mean_chance"};
    struct sh_reference_file *file = sh_reference_open("team");
    const double *means_s = sh_reference_get(file, "means_s", NULL);
    struct team team;
    open_team(&team);
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t i = 0; i < QUANTILES; i++) {
            const double first_s = -means_s[a] * log1p(-((double)i + 0.5) / QUANTILES);
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, first_s, NULL, 0);
        }
    }
    check("exponential times", &team, 1, file, names);
    close_team(&team);
    sh_reference_close(&file);
}

/* Two let-downs beside 18 arrows. */
static void test_let_downs(void **state)
{
    static const char *const names[2] = {"let_down_limits_s", "let_down_chance"};
    struct sh_reference_file *file = sh_reference_open("team");
    const double *values = sh_reference_get(file, "let_down", NULL);
    struct team team;
    open_team(&team);
    for (size_t a = 0; a < ARCHERS; a++) {
        for (size_t i = 0; i < 9; i++) {
            team_made_add(&team.times[a], SH_TEAM_FIRST_START, values[1], &values[1], 1);
            if (i < 2) {
                team_made_let_down(&team.times[a], values[2]);
            }
        }
        assert_true(fabs(2.0 / 20.0 - values[0]) < 1e-12);
    }
    check("let-downs", &team, 2, file, names);
    close_team(&team);
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_valued),
        cmocka_unit_test(test_exponential),
        cmocka_unit_test(test_let_downs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
