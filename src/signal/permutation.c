/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/permutation.h"

#include <math.h>
#include <string.h>

#include "signal/finite.h"
#include "signal/stats.h"

/* The same blocks summed in another order differ by rounding only: they count as alike. Of the
 * values' mean size. */
#define TIE_RATIO 1e-12

/* Counts of the arrangements that were tried. */
struct tally {
    double seen; /* size of the difference as the data have it */
    double rounding;
    double most; /* largest of those tried */
    size_t n_tried;
    size_t n_hits;
    size_t n_most;
};

static void count_value(struct tally *tally, double difference)
{
    const double size = fabs(difference);
    tally->n_tried++;
    tally->n_hits += size >= tally->seen - tally->rounding ? 1 : 0;
    if (size > tally->most + tally->rounding) {
        tally->most = size;
        tally->n_most = 0;
    }
    tally->n_most += size >= tally->most - tally->rounding ? 1 : 0;
}

static size_t get_block_start(const struct sh_permutation_config *config, size_t block)
{
    return config->first != NULL ? config->first[block] : block;
}

static enum sh_status check_blocks(const struct sh_permutation_config *config)
{
    if (config->n_draws == 0) {
        return SH_ERR_ARGUMENT;
    }
    if (config->n_blocks == 0) {
        return SH_ERR_SHORT;
    }
    for (size_t i = 0; i < config->n_blocks; i++) {
        if (get_block_start(config, i) >= get_block_start(config, i + 1)) {
            return SH_ERR_ARGUMENT;
        }
    }
    const size_t start = get_block_start(config, 0);
    const size_t n = get_block_start(config, config->n_blocks) - start;
    return sh_finite_is_all(config->x + start, n) ? SH_OK : SH_ERR_NOT_FINITE;
}

/* Sums of each block about origin, and the rounding that a mean of them may carry. */
static enum sh_status sum_blocks(const struct sh_permutation_config *config,
                                 const struct sh_permutation_work *work,
                                 double origin,
                                 double *rounding)
{
    double sizes = 0.0;
    for (size_t i = 0; i < config->n_blocks; i++) {
        const size_t first = get_block_start(config, i);
        const size_t end = get_block_start(config, i + 1);
        work->count[i] = end - first;
        work->sum[i] = 0.0;
        for (size_t k = first; k < end; k++) {
            work->sum[i] += config->x[k] - origin;
            sizes += fabs(config->x[k] - origin);
        }
    }
    const size_t n = get_block_start(config, config->n_blocks) - get_block_start(config, 0);
    *rounding = TIE_RATIO * sizes / (double)n;
    return isfinite(sizes) ? SH_OK : SH_ERR_NOT_FINITE;
}

static size_t get_stratum_start(const struct sh_permutation_config *config, size_t stratum)
{
    if (config->stratum != NULL) {
        return config->stratum[stratum];
    }
    return stratum == 0 ? 0 : config->n_blocks;
}

static size_t get_n_strata(const struct sh_permutation_config *config)
{
    return config->stratum != NULL ? config->n_strata : 1;
}

/* Arrangements within blocks from .. end: the binomial coefficient. */
static double count_within(const bool *is_second, size_t from, size_t end)
{
    size_t n_second = 0;
    for (size_t i = from; i < end; i++) {
        n_second += is_second[i] ? 1 : 0;
    }
    double ways = 1.0;
    for (size_t i = 1; i <= n_second; i++) { /* each product is a binomial coefficient */
        ways = ways * (double)(end - from - n_second + i) / (double)i;
    }
    return round(ways);
}

static double count_ways(const struct sh_permutation_config *config)
{
    double ways = 1.0;
    for (size_t s = 0; s < get_n_strata(config); s++) {
        ways *= count_within(config->is_second, get_stratum_start(config, s),
                             get_stratum_start(config, s + 1));
    }
    return ways;
}

static enum sh_status check_kinds(const struct sh_permutation_config *config)
{
    if (config->is_second == NULL) {
        return SH_ERR_ARGUMENT;
    }
    const size_t n_strata = get_n_strata(config);
    for (size_t i = 0; i < n_strata; i++) {
        if (get_stratum_start(config, i) >= get_stratum_start(config, i + 1)) {
            return SH_ERR_ARGUMENT;
        }
    }
    if (n_strata == 0 || get_stratum_start(config, 0) != 0 ||
        get_stratum_start(config, n_strata) != config->n_blocks) {
        return SH_ERR_ARGUMENT;
    }
    size_t n_second = 0;
    for (size_t i = 0; i < config->n_blocks; i++) {
        n_second += config->is_second[i] ? 1 : 0;
    }
    return n_second > 0 && n_second < config->n_blocks ? SH_OK : SH_ERR_SHORT;
}

static double get_difference(const struct sh_permutation_work *work, size_t n)
{
    double sum[2] = {0.0, 0.0};
    size_t count[2] = {0, 0};
    for (size_t i = 0; i < n; i++) {
        const size_t kind = work->is_second[i] ? 1 : 0;
        sum[kind] += work->sum[i];
        count[kind] += work->count[i];
    }
    return sum[1] / (double)count[1] - sum[0] / (double)count[0];
}

/* Puts the ones of kind[n] at its far end: the first arrangement. */
static void put_ones_last(bool *kind, size_t n)
{
    size_t n_ones = 0;
    for (size_t i = 0; i < n; i++) {
        n_ones += kind[i] ? 1 : 0;
    }
    for (size_t i = 0; i < n; i++) {
        kind[i] = n - i <= n_ones;
    }
}

/* The next arrangement of kind[n] in the order of binary numbers; false, and back to the first
 * one, after the last. */
static bool step_arrangement(bool *kind, size_t n)
{
    size_t i = n - 1;
    while (i > 0 && !(kind[i] && !kind[i - 1])) {
        i--;
    }
    if (i == 0) {
        put_ones_last(kind, n);
        return false;
    }
    kind[i - 1] = true;
    kind[i] = false;
    put_ones_last(kind + i, n - i);
    return true;
}

static void try_all_kinds(const struct sh_permutation_config *config,
                          const struct sh_permutation_work *work,
                          struct tally *tally)
{
    const size_t n_strata = get_n_strata(config);
    for (size_t s = 0; s < n_strata; s++) { /* to the first arrangement of each stratum */
        const size_t from = get_stratum_start(config, s);
        put_ones_last(work->is_second + from, get_stratum_start(config, s + 1) - from);
    }
    bool is_going = true;
    while (is_going) {
        count_value(tally, get_difference(work, config->n_blocks));
        is_going = false;
        for (size_t s = 0; s < n_strata && !is_going; s++) {
            const size_t from = get_stratum_start(config, s);
            is_going = step_arrangement(work->is_second + from,
                                        get_stratum_start(config, s + 1) - from);
        }
    }
}

/* Hands out the kinds of blocks from .. from + n - 1 afresh among them. */
static void shuffle_kinds(const struct sh_permutation_config *config,
                          const struct sh_permutation_work *work,
                          size_t from,
                          size_t n)
{
    for (size_t i = 0; i < n; i++) {
        work->order[i] = from + i;
    }
    sh_random_shuffle(config->random, work->order, n);
    for (size_t i = 0; i < n; i++) {
        work->is_second[from + i] = config->is_second[work->order[i]];
    }
}

static void draw_kinds(const struct sh_permutation_config *config,
                       const struct sh_permutation_work *work,
                       struct tally *tally)
{
    const size_t n_strata = get_n_strata(config);
    for (size_t draw = 0; draw < config->n_draws; draw++) {
        for (size_t s = 0; s < n_strata; s++) {
            const size_t from = get_stratum_start(config, s);
            shuffle_kinds(config, work, from, get_stratum_start(config, s + 1) - from);
        }
        count_value(tally, get_difference(work, config->n_blocks));
    }
}

/* Turns the counts into the answer. */
static enum sh_status finish(const struct tally *tally,
                             double difference,
                             double ways,
                             bool is_exact,
                             struct sh_permutation *result)
{
    const double n = (double)tally->n_tried;
    const double share =
        is_exact ? (double)tally->n_hits / n : (1.0 + (double)tally->n_hits) / (1.0 + n);
    if (!isfinite(difference)) {
        return SH_ERR_NOT_FINITE;
    }
    *result = (struct sh_permutation){.difference = difference,
                                      .p = share,
                                      .p_u = is_exact ? 0.0 : sqrt(share * (1.0 - share) / n),
                                      .p_least = is_exact ? (double)tally->n_most / n
                                                          : 1.0 / (1.0 + n),
                                      .is_exact = is_exact,
                                      .n_arrangements = ways,
                                      .n_tried = tally->n_tried};
    return SH_OK;
}

enum sh_status sh_permutation_test_kinds(const struct sh_permutation_config *config,
                                         const struct sh_permutation_work *work,
                                         struct sh_permutation *result)
{
    enum sh_status status = check_blocks(config);
    if (status == SH_OK) {
        status = check_kinds(config);
    }
    if (status != SH_OK) {
        return status;
    }
    const double ways = count_ways(config);
    if (!(ways > 1.0)) {
        return SH_ERR_SINGULAR;
    }
    const bool is_exact = ways <= (double)config->n_exact;
    if (!is_exact && config->random == NULL) {
        return SH_ERR_ARGUMENT;
    }
    struct tally tally = {0};
    const size_t start = get_block_start(config, 0);
    const size_t n = get_block_start(config, config->n_blocks) - start;
    double origin = 0.0;
    status = sh_stats_get_mean(config->x + start, n, &origin, NULL);
    if (status == SH_OK) {
        status = sum_blocks(config, work, origin, &tally.rounding);
    }
    if (status != SH_OK) {
        return status;
    }
    memcpy(work->is_second, config->is_second, config->n_blocks * sizeof(bool));
    const double difference = get_difference(work, config->n_blocks);
    tally.seen = fabs(difference);
    if (is_exact) {
        try_all_kinds(config, work, &tally);
    } else {
        draw_kinds(config, work, &tally);
    }
    return finish(&tally, difference, ways, is_exact, result);
}

static double get_signed_mean(const struct sh_permutation_work *work, size_t n, double n_values)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += work->is_second[i] ? -work->sum[i] : work->sum[i];
    }
    return sum / n_values;
}

/* The next pattern of signs, as a binary number; false after the last. */
static bool step_signs(bool *is_turned, size_t n)
{
    size_t i = 0;
    while (i < n && is_turned[i]) {
        is_turned[i++] = false;
    }
    if (i < n) {
        is_turned[i] = true;
    }
    return i < n;
}

enum sh_status sh_permutation_test_signs(const struct sh_permutation_config *config,
                                         const struct sh_permutation_work *work,
                                         struct sh_permutation *result)
{
    enum sh_status status = check_blocks(config);
    struct tally tally = {0};
    if (status == SH_OK) {
        status = sum_blocks(config, work, 0.0, &tally.rounding);
    }
    if (status != SH_OK) {
        return status;
    }
    const size_t n = config->n_blocks;
    const double ways = ldexp(1.0, n < 1000 ? (int)n : 1000);
    const bool is_exact = ways <= (double)config->n_exact;
    if (!is_exact && config->random == NULL) {
        return SH_ERR_ARGUMENT;
    }
    double n_values = 0.0;
    for (size_t i = 0; i < n; i++) {
        n_values += (double)work->count[i];
        work->is_second[i] = false;
    }
    const double mean = get_signed_mean(work, n, n_values);
    tally.seen = fabs(mean);
    bool is_going = true;
    while (is_going) {
        for (size_t i = 0; i < n && !is_exact; i++) {
            work->is_second[i] = sh_random_get_bits(config->random) >> 63 != 0;
        }
        count_value(&tally, get_signed_mean(work, n, n_values));
        is_going = is_exact ? step_signs(work->is_second, n) : tally.n_tried < config->n_draws;
    }
    return finish(&tally, mean, ways, is_exact, result);
}
