/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fits over recordings nobody here made; the folder is named by STRINGHAND_OPEN_DATA. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "signal/broken_stick.h"
#include "signal/huber.h"
#include "signal/line_fit.h"
#include "signal/rank.h"
#include "signal/stats.h"
#include "signal/theil_sen.h"
#include "support/cmocka_all.h"
#include "support/open_data.h"
#include "support/reference.h"

#define N_MAX      6000u
#define N_SENSORS  5u
#define N_MASSES   128u
#define N_HOLD     294u
#define FROM_HOLD  200u
#define N_LATE     (N_HOLD - FROM_HOLD)
#define TWO_DIGITS 0.005

static const char scipy[] = "SciPy 1.10.1, NumPy 1.24.2";

static void check(const char *what, double expected, double got, double relative)
{
    sh_reference_row(what, scipy, expected, got, relative * fabs(expected));
}

/* Thin force sensors, calibrated by hung masses. */
struct thin {
    double mass[N_SENSORS][N_MASSES];
    double counts[N_SENSORS][N_MASSES];
    size_t n[N_SENSORS];
};

static void add_reading(struct thin *thin, size_t k, double mass, double counts)
{
    if (isfinite(mass) && isfinite(counts)) {
        assert_true(thin->n[k] < N_MASSES);
        thin->mass[k][thin->n[k]] = mass;
        thin->counts[k][thin->n[k]++] = counts;
    }
}

static void read_thin(struct thin *thin)
{
    FILE *stream = sh_open_data_file("thin-force-sensors/calibration.csv");
    double row[N_SENSORS + 1];
    memset(thin, 0, sizeof(*thin));
    (void)sh_open_data_read_row(stream, row, N_SENSORS + 1); /* names */
    while (sh_open_data_read_row(stream, row, N_SENSORS + 1) == N_SENSORS + 1) {
        for (size_t k = 0; k < N_SENSORS; k++) {
            add_reading(thin, k, row[0], row[k + 1]);
        }
    }
    (void)fclose(stream);
}

/* How sure their curvature is. */
static void test_thin_sensors(void **state)
{
    const double expected[N_SENSORS] = {50.6717508358275, 41.08951168463561, 49.08856924846387,
                                        53.30588825214426, 57.64311135688974};
    static struct thin thin;
    double work[SH_LINE_FIT_WORK(N_MASSES, 2)];
    read_thin(&thin);
    for (size_t k = 0; k < N_SENSORS; k++) {
        struct sh_line_fit fit[2];
        struct sh_line_fit_test test;
        char what[64];
        for (size_t degree = 1; degree <= 2; degree++) {
            const struct sh_line_fit_points points = {thin.mass[k], thin.counts[k], NULL,
                                                      thin.n[k],    degree,         false};
            assert_int_equal(sh_line_fit_solve(&points, work, &fit[degree - 1]), SH_OK);
        }
        assert_int_equal(sh_line_fit_test_terms(&fit[0], &fit[1], &test), SH_OK);
        (void)snprintf(what, sizeof(what), "thin sensor %zu: F of the square term", k + 1);
        check(what, expected[k], test.f, 1e-10);
        assert_true(test.p < 1e-5);
    }
}

/* A grip that follows a target. */
struct grip {
    double time[N_HOLD];
    double force[N_HOLD];
};

static void read_grip(const char *name, struct grip *grip)
{
    FILE *stream = sh_open_data_file(name);
    double row[4];
    (void)sh_open_data_read_row(stream, row, 4); /* names */
    for (size_t i = 0; i < N_HOLD; i++) {
        assert_int_equal(sh_open_data_read_row(stream, row, 4), 4);
        grip->time[i] = row[0];
        grip->force[i] = row[3];
    }
    (void)fclose(stream);
}

static struct sh_broken_stick fit_stick(const struct grip *grip)
{
    const struct sh_broken_stick_points points = {grip->time, grip->force, N_HOLD};
    struct sh_broken_stick stick;
    assert_int_equal(sh_broken_stick_fit(&points, 0.95, &stick), SH_OK);
    return stick;
}

/* Where it stops rising lies between two points; in the other recording the best break is a
 * point, where no two lines fitted apart would meet. */
static void test_grip(void **state)
{
    struct grip grip;
    read_grip("grip-hold/power_3.csv", &grip);
    struct sh_broken_stick stick = fit_stick(&grip);
    check("grip: the break, s", 0.43445031830517616, stick.break_x, 1e-11);
    check("grip: slope before it, N/s", 88.73516692057383, stick.slope_before, 1e-11);
    check("grip: slope after it, N/s", -6.2386105890433186, stick.slope_after, 1e-11);
    check("grip: residual squares, N2", 18091.49258951363, stick.residual_squares, 1e-12);
    read_grip("grip-hold/power_1.csv", &grip);
    stick = fit_stick(&grip);
    check("another grip: the break, s", 2.8339, stick.break_x, 1e-14);
    check("another grip: residual squares, N2", 47836.65963141572, stick.residual_squares,
          1e-11);
}

static void test_grip_fall(void **state)
{
    static double work[SH_THEIL_SEN_WORK((size_t)N_LATE)];
    struct grip grip;
    struct sh_theil_sen line;
    read_grip("grip-hold/power_1.csv", &grip);
    const double *time = grip.time + FROM_HOLD;
    const double *force = grip.force + FROM_HOLD;
    assert_int_equal(sh_theil_sen_fit(time, force, N_LATE, 0.95, work, &line), SH_OK);
    check("grip's fall: Theil-Sen slope, N/s", -51.764379214597376, line.slope, 1e-13);
    check("grip's fall: lower limit", -62.45680933852141, line.slope_lo, 1e-13);
    check("grip's fall: upper limit", -41.29506172839503, line.slope_hi, 1e-13);
    size_t order[N_LATE];
    double rank_x[N_LATE];
    double rank_y[N_LATE];
    const struct sh_rank_pairs pairs = {time, force, N_LATE};
    const struct sh_rank_work room = {order, rank_x, rank_y};
    struct sh_rank_correlation rank;
    assert_int_equal(sh_rank_get_spearman(&pairs, 0.95, &room, &rank), SH_OK);
    check("grip's fall: Spearman", -0.6961745475562621, rank.value, 1e-13);
    check("grip's fall: Spearman's p", 6.7254285163750465e-15, rank.p, 1e-9);
}

/* A load cell at rest with a wild reading now and then. */
static void test_load_cell(void **state)
{
    FILE *stream = sh_open_data_file("load-cell-log/thrust.csv");
    static double volts[N_MAX];
    static double work[2 * N_MAX];
    (void)sh_open_data_read_row(stream, volts, N_MAX); /* times */
    assert_int_equal(sh_open_data_read_row(stream, volts, N_MAX), N_MAX);
    (void)fclose(stream);
    struct sh_stats stats;
    struct sh_huber_location location;
    assert_int_equal(sh_stats_get(volts, N_MAX, work, &stats), SH_OK);
    check("load cell at rest: mean, V", 0.16173746744791667, stats.mean, 1e-14);
    check("load cell at rest: SD, V", 0.02098790373392416, stats.sd, 1e-13);
    check("load cell at rest: median, V", 0.15625, stats.median, 1e-15);
    assert_int_equal(sh_huber_find_location(volts, N_MAX, work, &location), SH_OK);
    const char *const source = "R MASS rlm, two digits";
    sh_reference_row("load cell at rest: Huber location, V", source, 0.161728305423253,
                     location.value, TWO_DIGITS * 0.1617);
    sh_reference_row("load cell at rest: its standard error, V", source, 2.0334506197808e-4,
                     location.u, TWO_DIGITS * 2.033e-4);
    sh_reference_row("load cell at rest: scale, V", source, 0.0208346101953264, location.scale,
                     TWO_DIGITS * 0.0208);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_thin_sensors),
        cmocka_unit_test(test_grip),
        cmocka_unit_test(test_grip_fall),
        cmocka_unit_test(test_load_cell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
