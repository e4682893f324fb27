/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/dpss.h"

#include <math.h>
#include <stdbool.h>

#include "base/units.h"

#define LANES            8u  /* eigenvalues looked for at once */
#define START_RATIO      0.9 /* of the guess, where the search begins */
#define LEAST_START      1.0
#define SMALL_STEPS      4       /* upwards from there, then larger ones */
#define CROSS_ROUNDS_MAX 60      /* trials after which halving finishes what is left */
#define ROUNDS_MAX       1300    /* halving reaches neighbouring numbers from any bracket */
#define SETTLED          9e-16   /* width of the bracket, of the eigenvalue: a few neighbours */
#define NEAREST          4.4e-16 /* to an end that a trial goes: less than half of that */
#define TURNS            64u

/* One half of the problem: sequences even or odd about the middle. */
struct half_problem {
    size_t n;         /* full length */
    bool is_odd;      /* v[n - 1 - i] = -v[i] */
    double sin2_pi_w; /* sin^2(pi W) */
};

/* Half the coupling i (n - i) / 2 between samples i - 1 and i. */
static double get_coupling(size_t i, size_t n)
{
    return 0.5 * (double)i * (double)(n - i);
}

static double get_potential(const struct half_problem *p, size_t i)
{
    double t = 0.5 * ((double)p->n - 1.0) - (double)i;
    return 2.0 * t * t * p->sin2_pi_w;
}

/* The recurrence on its way from the edge (v[0] = 1) to the middle. */
struct shot {
    double x;    /* the sample reached */
    double flux; /* coupling times the step to the next one */
    size_t n_changes;
};

/* Goes on to sample i + 1. */
static void step_inward(const struct half_problem *p, double mu, size_t i, struct shot *shot)
{
    shot->flux += (get_potential(p, i) - mu) * shot->x;
    double next = shot->x + shot->flux / get_coupling(i + 1, p->n);
    shot->n_changes += signbit(next) != signbit(shot->x);
    shot->x = next;
}

/* What must vanish at the middle if mu is an eigenvalue; the last sample is n / 2 - 1. */
static double get_middle_condition(const struct half_problem *p, double mu, struct shot *shot)
{
    size_t n_half = p->n / 2;
    if (p->n % 2 == 0) {
        double flux = shot->flux + (get_potential(p, n_half - 1) - mu) * shot->x;
        return p->is_odd ? flux + 2.0 * get_coupling(n_half, p->n) * shot->x : flux;
    }
    if (p->is_odd) {
        double flux = shot->flux + (get_potential(p, n_half - 1) - mu) * shot->x;
        return shot->x + flux / get_coupling(n_half, p->n);
    }
    step_inward(p, mu, n_half - 1, shot);
    return shot->flux + 0.5 * (get_potential(p, n_half) - mu) * shot->x;
}

/* The half from the edge to the middle, for one eigenvalue, into v. */
static void fill_half(const struct half_problem *p, double mu, double *v)
{
    size_t n_half = p->n / 2;
    struct shot shot = {1.0, 0.0, 0};
    for (size_t i = 0; i < n_half; i++) {
        v[i] = shot.x;
        if (i + 1 < n_half) {
            step_inward(p, mu, i, &shot);
        }
    }
    (void)get_middle_condition(p, mu, &shot);
    if (p->n % 2 == 1) {
        v[n_half] = p->is_odd ? 0.0 : shot.x;
    }
}

/* The search for one eigenvalue: number index of its half, from 0, smallest first. */
struct search {
    struct half_problem problem;
    size_t index;
    double mu; /* tried next */
    double low;
    double high;
    double low_value; /* of the condition at the middle */
    double high_value;
    size_t n_low;  /* eigenvalues below low */
    size_t n_high; /* and below high; 0: not tried yet */
    int n_rounds;
    bool has_low; /* low has been tried */
    bool was_low; /* the last trial moved low */
    bool is_done;
};

/* What LANES recurrences hold side by side; each is the one of step_inward. */
struct lanes {
    double mu[LANES];
    double x[LANES];
    double flux[LANES];
    double n_changes[LANES];
};

/* All lanes from the edge to the last sample before the middle. */
static void
run_lanes(const struct half_problem *p, const double *inverse_coupling, struct lanes *lanes)
{
    for (size_t i = 0; i + 1 < p->n / 2; i++) {
        double potential = get_potential(p, i);
        for (size_t k = 0; k < LANES; k++) {
            double x = lanes->x[k];
            lanes->flux[k] += (potential - lanes->mu[k]) * x;
            double next = x + lanes->flux[k] * inverse_coupling[i];
            lanes->n_changes[k] += (next < 0.0) != (x < 0.0) ? 1.0 : 0.0;
            lanes->x[k] = next;
        }
    }
}

/* Where false position (Dowell & Jarratt 1971) goes, but never onto an end or beside it. */
static double cross(const struct search *s)
{
    double share = s->low_value / (s->low_value - s->high_value);
    double edge = NEAREST * s->high;
    return fmin(fmax(s->low + share * (s->high - s->low), s->low + edge), s->high - edge);
}

/* Where to try next: further up, then halfway until the eigenvalue is alone, then across. */
static void choose_mu(struct search *s)
{
    if (s->n_high == 0) {
        s->mu = s->high;
        return;
    }
    double middle = s->low + 0.5 * (s->high - s->low);
    bool is_alone = s->has_low && s->n_low == s->index && s->n_high == s->index + 1;
    s->is_done = s->high - s->low <= SETTLED * s->high || middle <= s->low ||
                 middle >= s->high || s->n_rounds >= ROUNDS_MAX;
    s->mu = is_alone && s->n_rounds < CROSS_ROUNDS_MAX ? cross(s) : middle;
}

/*
 * Narrows the bracket by what mu has shown. An end that stays twice has its value halved, or
 * false position would creep.
 */
static void narrow(struct search *s, double value, size_t n_below)
{
    bool is_low = n_below <= s->index;
    bool is_again = s->n_rounds > 0 && is_low == s->was_low;
    s->n_rounds++;
    s->was_low = is_low;
    if (is_low) {
        s->high_value *= is_again ? 0.5 : 1.0;
        s->low = s->mu;
        s->low_value = value;
        s->n_low = n_below;
        s->has_low = true;
        s->high *= s->n_high > 0 ? 1.0 : s->n_rounds < SMALL_STEPS ? 1.2 : 2.0;
        return;
    }
    s->low_value *= is_again ? 0.5 : 1.0;
    s->high = s->mu;
    s->high_value = value;
    s->n_high = n_below;
}

/* One more trial of up to LANES searches; true where all are done. */
static bool try_all(struct search *search, size_t n_searches, const double *inverse_coupling)
{
    struct lanes lanes;
    bool is_done = true;
    for (size_t k = 0; k < LANES; k++) {
        const struct search *s = &search[k < n_searches ? k : 0];
        lanes.mu[k] = s->mu;
        lanes.x[k] = 1.0;
        lanes.flux[k] = 0.0;
        lanes.n_changes[k] = 0.0;
    }
    run_lanes(&search[0].problem, inverse_coupling, &lanes);
    for (size_t k = 0; k < n_searches; k++) {
        struct search *s = &search[k];
        if (s->is_done) {
            continue;
        }
        struct shot shot = {lanes.x[k], lanes.flux[k], (size_t)lanes.n_changes[k]};
        double last = get_middle_condition(&s->problem, s->mu, &shot);
        narrow(s, last, shot.n_changes + (signbit(last) != signbit(shot.x)));
        choose_mu(s);
        is_done = is_done && s->is_done;
    }
    return is_done;
}

/* For long sequences and k well under 2 NW (Slepian 1965, J Math Phys 44:99); only a start. */
static double guess_eigenvalue(double nw, size_t k)
{
    double order = (double)k;
    double c = SH_PI * nw;
    return 0.5 * (c * (2.0 * order + 1.0) - 0.25 * (2.0 * order * (order + 1.0) + 3.0));
}

/* Eigenvalues of the tapers first .. first + n - 1, n at most LANES; work: [n_samples / 2]. */
static void find_eigenvalues(const struct sh_dpss_config *config,
                             size_t first,
                             size_t n,
                             double *work,
                             struct search *search)
{
    double sine = sin(SH_PI * config->nw / (double)config->n);
    for (size_t k = 0; k < n; k++) {
        double start = START_RATIO * guess_eigenvalue(config->nw, first + k);
        search[k] = (struct search){.problem = {config->n, (first + k) % 2 == 1, sine * sine},
                                    .index = (first + k) / 2,
                                    .mu = fmax(start, LEAST_START)};
        search[k].high = search[k].mu;
    }
    for (size_t i = 0; i < config->n / 2; i++) {
        work[i] = 1.0 / get_coupling(i + 1, config->n);
    }
    while (!try_all(search, n, work)) {
    }
}

static void unfold(const struct half_problem *p, double *v)
{
    size_t n = p->n;
    double energy = 0.0;
    double sum = 0.0;
    for (size_t i = 0; i < n / 2; i++) {
        v[n - 1 - i] = p->is_odd ? -v[i] : v[i];
        energy += 2.0 * v[i] * v[i];
        sum += 2.0 * v[i];
    }
    if (n % 2 == 1) {
        energy += v[n / 2] * v[n / 2];
        sum += v[n / 2];
    }
    double scale = 1.0 / sqrt(energy);
    if (!p->is_odd && sum < 0.0) {
        scale = -scale;
    }
    for (size_t i = 0; i < n; i++) {
        v[i] *= scale;
    }
}

/* Both neighbours of v[top] at distance d, 0 outside. */
static double get_pair(const double *v, size_t n, size_t top, size_t d)
{
    return (d <= top ? v[top - d] : 0.0) + (top + d < n ? v[top + d] : 0.0);
}

/*
 * sin(2 pi W d) / (pi d) summed against v, over v at its largest sample. The sine is turned on
 * from one distance to the next, and worked out anew each TURNS.
 */
static double get_concentration(const double *v, size_t n, double w)
{
    size_t top = 0;
    for (size_t i = 1; i < n; i++) {
        top = fabs(v[i]) > fabs(v[top]) ? i : top;
    }
    double sum = 2.0 * w * v[top];
    double step_cos = cos(2.0 * SH_PI * w);
    double step_sin = sin(2.0 * SH_PI * w);
    double cosine = 1.0;
    double sine = 0.0;
    for (size_t d = 1; d <= top || top + d < n; d++) {
        double next = sine * step_cos + cosine * step_sin;
        cosine = cosine * step_cos - sine * step_sin;
        sine = next;
        if (d % TURNS == 0) {
            sine = sin(2.0 * SH_PI * w * (double)d);
            cosine = cos(2.0 * SH_PI * w * (double)d);
        }
        sum += get_pair(v, n, top, d) * sine / (SH_PI * (double)d);
    }
    return fmin(sum / v[top], 1.0);
}

/* Tapers first .. first + count - 1, count at most LANES, into v[count][n]. */
static void
make_some(const struct sh_dpss_config *config, size_t first, size_t count, double *v)
{
    struct search search[LANES];
    find_eigenvalues(config, first, count, v, search);
    for (size_t k = 0; k < count; k++) {
        fill_half(&search[k].problem, search[k].low, v + k * config->n);
        unfold(&search[k].problem, v + k * config->n);
    }
}

enum sh_status
sh_dpss_make(const struct sh_dpss_config *config, double *tapers, double *concentration)
{
    size_t n = config->n;
    if (n < 2 || n > SH_DPSS_LENGTH_MAX || config->k < 1 || config->k > n ||
        config->k > SH_DPSS_TAPERS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (!(config->nw > 0.0 && config->nw <= SH_DPSS_NW_MAX && config->nw < 0.5 * (double)n)) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t first = 0; first < config->k; first += LANES) {
        size_t count = config->k - first < LANES ? config->k - first : LANES;
        make_some(config, first, count, tapers + first * n);
    }
    for (size_t k = 0; k < config->k && concentration != NULL; k++) {
        concentration[k] = get_concentration(tapers + k * n, n, config->nw / (double)n);
    }
    return SH_OK;
}
