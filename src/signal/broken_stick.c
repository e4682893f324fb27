/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/broken_stick.h"

#include <math.h>

#include "base/units.h"
#include "signal/distribution.h"
#include "signal/finite.h"

#define N_LEAST   5u
#define DIFFERENT 4u
#define FIT_TERMS 4u

/* Residuals of this share of the largest reading are rounding. */
#define ROUNDING 1e-14

/*
 * The problem in u = (x - centre) / half with the straight line taken off y: rest(u). A break
 * at c adds a term in (u - c)+, of which only the part that is no straight line counts.
 */
struct problem {
    const struct sh_broken_stick_points *points;
    double centre;
    double half;
    double intercept; /* of the straight line, at u = 0 */
    double slope;     /* per u */
    double u_squares; /* sum of u^2 */
    double straight_squares;
    size_t first; /* the last point of the second different x from the start */
    size_t last;  /* the first point of the second different x from the end */
};

/*
 * Between two neighbouring x: N = n0 + n1 c and D = d0 + d1 c + d2 c^2, so that N^2 / D are the
 * squares that a break at c takes off and N / D is the change of slope.
 */
struct piece {
    double from; /* u */
    double to;
    double n0;
    double n1;
    double d0;
    double d1;
    double d2;
};

/* Sums over the points so far. */
struct sums {
    double n;
    double u;
    double uu;
    double r;
    double ru;
};

static double get_u(const struct problem *p, size_t i)
{
    return (p->points->x[i] - p->centre) / p->half;
}

static double get_rest(const struct problem *p, size_t i)
{
    return p->points->y[i] - p->intercept - p->slope * get_u(p, i);
}

static bool is_step(const double *x, size_t i)
{
    return x[i] < x[i + 1];
}

static enum sh_status
check_points(const struct sh_broken_stick_points *points, double level, struct problem *p)
{
    const double *x = points->x;
    const size_t n = points->n;
    if (!(level > 0.0 && level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (n < N_LEAST) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n) || !sh_finite_is_all(points->y, n)) {
        return SH_ERR_NOT_FINITE;
    }
    size_t n_steps = 0;
    size_t last[2] = {0, 0}; /* ends of the last two steps */
    for (size_t i = 0; i + 1 < n; i++) {
        if (x[i] > x[i + 1]) {
            return SH_ERR_ARGUMENT;
        }
        if (is_step(x, i)) {
            n_steps++;
            p->first = n_steps == 2 ? i : p->first;
            last[0] = last[1];
            last[1] = i + 1;
        }
    }
    p->last = last[0];
    return n_steps + 1 < DIFFERENT ? SH_ERR_SHORT : SH_OK;
}

/* Fits the straight line. */
static enum sh_status
start_problem(const struct sh_broken_stick_points *points, double level, struct problem *p)
{
    p->points = points;
    enum sh_status status = check_points(points, level, p);
    if (status != SH_OK) {
        return status;
    }
    const size_t n = points->n;
    p->half = 0.5 * points->x[n - 1] - 0.5 * points->x[0];
    const double start = points->x[0];
    double sum = 0.0;
    double y_mean = 0.0;
    double largest = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += points->x[i] - start;
        y_mean += points->y[i] / (double)n;
        largest = fmax(largest, fabs(points->y[i]));
    }
    p->centre = start + sum / (double)n;
    double uy = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double u = get_u(p, i);
        p->u_squares += u * u;
        uy += u * (points->y[i] - y_mean);
    }
    p->intercept = y_mean;
    p->slope = uy / p->u_squares;
    for (size_t i = 0; i < n; i++) {
        const double rest = get_rest(p, i);
        p->straight_squares += rest * rest;
    }
    if (!isfinite(p->straight_squares) || !isfinite(p->u_squares)) {
        return SH_ERR_NOT_FINITE;
    }
    const double rounding = ROUNDING * largest;
    return p->straight_squares > (double)n * rounding * rounding ? SH_OK : SH_ERR_SINGULAR;
}

static void add_point(const struct problem *p, size_t i, struct sums *sums)
{
    const double u = get_u(p, i);
    const double rest = get_rest(p, i);
    sums->n += 1.0;
    sums->u += u;
    sums->uu += u * u;
    sums->r += rest;
    sums->ru += rest * u;
}

/* The piece from point i on; sums: of the points up to it. Those behind hold the rest of 0, the
 * squares of u and so on. */
static struct piece make_piece(const struct problem *p, size_t i, const struct sums *sums)
{
    const double n = (double)p->points->n;
    const double m = n - sums->n;
    const double s1 = -sums->u;
    const double s2 = p->u_squares - sums->uu;
    return (struct piece){.from = get_u(p, i),
                          .to = get_u(p, i + 1),
                          .n0 = -sums->ru,
                          .n1 = sums->r,
                          .d0 = s2 - s1 * s1 / n - s2 * s2 / p->u_squares,
                          .d1 = -2.0 * s1 * (1.0 - m / n - s2 / p->u_squares),
                          .d2 = m - m * m / n - s1 * s1 / p->u_squares};
}

static double get_top(const struct piece *piece, double c)
{
    return piece->n0 + piece->n1 * c;
}

static double get_bottom(const struct piece *piece, double c)
{
    return piece->d0 + c * (piece->d1 + c * piece->d2);
}

static double get_gain(const struct piece *piece, double c)
{
    const double top = get_top(piece, c);
    const double bottom = get_bottom(piece, c);
    return bottom > 0.0 ? top * top / bottom : 0.0;
}

/* The best break found so far. */
struct best {
    double c;
    double gain;
    double change; /* of slope, per u */
    double arc;    /* length of the path of all breaks' directions, radians */
};

static void try_break(const struct piece *piece, double c, struct best *best)
{
    const double gain = get_gain(piece, c);
    if (c >= piece->from && c <= piece->to && gain > best->gain) {
        best->c = c;
        best->gain = gain;
        best->change = get_top(piece, c) / get_bottom(piece, c);
    }
}

/*
 * As the break moves from one point to the next, the direction of its term turns in a plane:
 * the angle between the ends.
 */
static double get_arc(const struct piece *piece)
{
    const double a = piece->from;
    const double b = piece->to;
    const double dot = piece->d0 + 0.5 * piece->d1 * (a + b) + piece->d2 * a * b;
    const double area2 = piece->d0 * piece->d2 - 0.25 * piece->d1 * piece->d1;
    return atan2((b - a) * sqrt(fmax(area2, 0.0)), dot);
}

/* Chance that some break takes off so large a share of a straight line's residual squares. */
static double get_chance(double left, double arc, double n)
{
    const double m = n - 2.0; /* dimensions of the residuals */
    const double one = sh_distribution_get_beta(left, 0.5 * (m - 1.0), 0.5);
    return fmin(one + arc / SH_PI * pow(left, 0.5 * (m - 2.0)), 1.0);
}

static struct best find_break(const struct problem *p)
{
    struct best best = {0.0, 0.0, 0.0, 0.0};
    struct sums sums = {0};
    for (size_t i = 0; i < p->last; i++) {
        add_point(p, i, &sums);
        if (i < p->first || !is_step(p->points->x, i)) {
            continue;
        }
        const struct piece piece = make_piece(p, i, &sums);
        best.arc += get_arc(&piece);
        try_break(&piece, piece.from, &best);
        try_break(&piece, piece.to, &best);
        const double over = piece.n1 * piece.d1 - 2.0 * piece.n0 * piece.d2;
        const double turn = (piece.n0 * piece.d1 - 2.0 * piece.n1 * piece.d0) / over;
        if (isfinite(turn)) {
            try_break(&piece, turn, &best);
        }
    }
    return best;
}

/* The breaks of a piece that take off at least gain: widens lo .. hi to hold them. */
static void widen(const struct piece *piece, double gain, double *lo, double *hi)
{
    const double a = piece->n1 * piece->n1 - gain * piece->d2;
    const double b = 2.0 * piece->n0 * piece->n1 - gain * piece->d1;
    const double c = piece->n0 * piece->n0 - gain * piece->d0;
    const double root = sqrt(fmax(b * b - 4.0 * a * c, 0.0));
    const double q = -0.5 * (b + (b < 0.0 ? -root : root));
    const double places[4] = {piece->from, piece->to, q / a, c / q};
    for (size_t i = 0; i < 4; i++) {
        /* at its own roots the gain is met but for rounding */
        const double least = i < 2 ? gain : gain * (1.0 - 1e-9);
        if (places[i] >= piece->from && places[i] <= piece->to &&
            get_gain(piece, places[i]) >= least) {
            *lo = fmin(*lo, places[i]);
            *hi = fmax(*hi, places[i]);
        }
    }
}

static void
find_limits(const struct problem *p, double gain, double c, struct sh_broken_stick *stick)
{
    double lo = c;
    double hi = c;
    struct sums sums = {0};
    for (size_t i = 0; i < p->last; i++) {
        add_point(p, i, &sums);
        if (i >= p->first && is_step(p->points->x, i)) {
            const struct piece piece = make_piece(p, i, &sums);
            widen(&piece, gain, &lo, &hi);
        }
    }
    stick->is_open_lo = !(lo > get_u(p, p->first));
    stick->is_open_hi = !(hi < get_u(p, p->last));
    stick->break_lo = p->centre + p->half * lo;
    stick->break_hi = p->centre + p->half * hi;
}

/* Lines through the best break. */
static void
set_lines(const struct problem *p, const struct best *best, struct sh_broken_stick *stick)
{
    const double n = (double)p->points->n;
    double z = 0.0;
    double zu = 0.0;
    for (size_t i = 0; i < p->points->n; i++) {
        const double u = get_u(p, i);
        const double over = fmax(u - best->c, 0.0);
        z += over;
        zu += over * u;
    }
    const double intercept = p->intercept - best->change * z / n;
    const double slope = p->slope - best->change * zu / p->u_squares;
    stick->break_x = p->centre + p->half * best->c;
    stick->break_y = intercept + slope * best->c;
    stick->slope_before = slope / p->half;
    stick->slope_after = (slope + best->change) / p->half;
    for (size_t i = 0; i < p->points->n; i++) {
        const double u = get_u(p, i);
        const double rest =
            p->points->y[i] - intercept - slope * u - best->change * fmax(u - best->c, 0.0);
        stick->residual_squares += rest * rest;
    }
}

/* Of the points on one side of the break, it included: 1 / sum of squares of x, and the share
 * of a residual's variance in the line's value at the break. */
static double get_side(const struct problem *p, double c, bool is_after, double *at_break)
{
    double n = 0.0;
    double sum = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < p->points->n; i++) {
        const double off = get_u(p, i) - c;
        if (is_after ? off >= 0.0 : off <= 0.0) {
            n += 1.0;
            sum += off;
            squares += off * off;
        }
    }
    const double mean = sum / n;
    const double about = squares - n * mean * mean;
    *at_break = 1.0 / n + mean * mean / about;
    return 1.0 / (about * p->half * p->half);
}

static void set_errors(const struct problem *p, double c, struct sh_broken_stick *stick)
{
    double before = 0.0;
    double after = 0.0;
    const double sd = stick->residual_sd;
    stick->slope_before_u = sd * sqrt(get_side(p, c, false, &before));
    stick->slope_after_u = sd * sqrt(get_side(p, c, true, &after));
    stick->break_u = sd * sqrt(before + after) / fabs(stick->slope_after - stick->slope_before);
}

enum sh_status sh_broken_stick_fit(const struct sh_broken_stick_points *points,
                                   double level,
                                   struct sh_broken_stick *stick)
{
    struct problem problem = {0};
    enum sh_status status = start_problem(points, level, &problem);
    if (status != SH_OK) {
        return status;
    }
    const struct best best = find_break(&problem);
    if (!(best.gain > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    const double freedom = (double)(points->n - FIT_TERMS);
    struct sh_broken_stick got = {.straight_squares = problem.straight_squares};
    set_lines(&problem, &best, &got);
    const double variance = got.residual_squares / freedom;
    got.residual_sd = sqrt(variance);
    set_errors(&problem, best.c, &got);
    const double allowed = variance * sh_distribution_get_f_quantile(level, 1.0, freedom);
    find_limits(&problem, fmax(best.gain - allowed, 0.0), best.c, &got);
    got.p = get_chance(fmin(got.residual_squares / got.straight_squares, 1.0), best.arc,
                       (double)points->n);
    if (!isfinite(got.break_u) || !isfinite(got.slope_before_u + got.slope_after_u)) {
        return SH_ERR_SINGULAR;
    }
    *stick = got;
    return SH_OK;
}
