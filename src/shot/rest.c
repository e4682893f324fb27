/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/rest.h"

#include <math.h>

#define LEVEL_SHARE_MIN 0.02 /* of a new block in the level: about its last 100 blocks */
#define NOISE_REACH     4.0  /* standard deviations of a block's mean that still belong */
#define CORRELATION_BLOCKS                                                                     \
    4.0 /* blocks taken as one where the level's uncertainty is formed                         \
         */

/* What one block says. */
struct block {
    uint64_t first_frame;
    uint64_t end_frame;
    double mean_n;
    double white_n2;
    double variance_n2;
};

void sh_rest_init(struct sh_rest *rest,
                  double rate_hz,
                  double resolution_n,
                  uint64_t first_frame)
{
    *rest = (struct sh_rest){
        .rate_hz = rate_hz, .resolution_n = resolution_n, .next_frame = first_frame};
    rest->n_block = (size_t)fmax((double)SH_REST_BLOCK_FRAMES, SH_REST_BLOCK_S * rate_hz);
}

static void start_plateau(struct sh_rest_plateau *plateau, const struct block *block)
{
    *plateau = (struct sh_rest_plateau){.first_frame = block->first_frame,
                                        .end_frame = block->end_frame,
                                        .level_n = block->mean_n,
                                        .white_n2 = block->white_n2,
                                        .variance_n2 = block->variance_n2,
                                        .n_blocks = 1.0,
                                        .n_blocks_seen = 1.0};
}

/* The mean while young, then an average that slowly forgets. */
static void extend_plateau(struct sh_rest_plateau *plateau, const struct block *block)
{
    plateau->end_frame = block->end_frame;
    plateau->n_blocks_seen += 1.0;
    const double share = fmax(LEVEL_SHARE_MIN, 1.0 / plateau->n_blocks_seen);
    plateau->n_blocks = fmin(plateau->n_blocks + 1.0, 2.0 / LEVEL_SHARE_MIN - 1.0);
    const double off_n = block->mean_n - plateau->level_n;
    plateau->level_n += share * off_n;
    plateau->square_n2 += share * ((1.0 - share) * off_n * off_n - plateau->square_n2);
    plateau->white_n2 += share * (block->white_n2 - plateau->white_n2);
    plateau->variance_n2 += share * (block->variance_n2 - plateau->variance_n2);
}

static bool is_near(const struct sh_rest *rest,
                    const struct sh_rest_plateau *plateau,
                    const struct block *block)
{
    const double spread_n =
        NOISE_REACH * sqrt(plateau->white_n2 / (double)rest->n_block + plateau->square_n2);
    const double allowed_n = SH_REST_TOLERANCE_N + fmin(spread_n, 2.0 * SH_REST_TOLERANCE_N);
    return fabs(block->mean_n - plateau->level_n) <= allowed_n;
}

/* A block that is itself a slope or a knock belongs nowhere. */
static bool is_even(const struct block *block)
{
    const double unevenness_n2 = block->variance_n2 - 4.0 * block->white_n2;
    return unevenness_n2 <= SH_REST_TOLERANCE_N * SH_REST_TOLERANCE_N;
}

static void keep_past(struct sh_rest *rest, const struct sh_rest_plateau *plateau)
{
    if (rest->n_past == SH_REST_PLATEAUS_MAX) {
        for (size_t i = 1; i < rest->n_past; i++) {
            rest->past[i - 1] = rest->past[i];
        }
        rest->n_past--;
    }
    rest->past[rest->n_past++] = *plateau;
}

static double plateau_s(const struct sh_rest *rest, const struct sh_rest_plateau *plateau)
{
    return (double)(plateau->end_frame - plateau->first_frame) / rest->rate_hz;
}

static void try_candidate(struct sh_rest *rest, const struct block *block)
{
    if (!rest->has_candidate || !is_near(rest, &rest->candidate, block)) {
        start_plateau(&rest->candidate, block);
        rest->has_candidate = true;
        return;
    }
    extend_plateau(&rest->candidate, block);
    if (plateau_s(rest, &rest->candidate) < SH_REST_PLATEAU_S ||
        rest->candidate.n_blocks_seen < 2.0) {
        return;
    }
    if (rest->has_current) {
        keep_past(rest, &rest->current);
    }
    rest->current = rest->candidate;
    rest->has_current = true;
    rest->has_candidate = false;
}

/*
 * The plateaus that may be the rest level, latest first: those that had formed by end_frame,
 * back to one that lasted longer than a preload, none too old.
 */
static size_t list_plateaus(const struct sh_rest *rest,
                            uint64_t end_frame,
                            const struct sh_rest_plateau *list[SH_REST_PLATEAUS_MAX + 1])
{
    size_t n = 0;
    for (size_t back = 0; back <= rest->n_past; back++) {
        if (back == 0 && !rest->has_current) {
            continue;
        }
        const struct sh_rest_plateau *plateau =
            back == 0 ? &rest->current : &rest->past[rest->n_past - back];
        if ((double)plateau->first_frame + SH_REST_PLATEAU_S * rest->rate_hz >
            (double)end_frame) {
            continue;
        }
        if (n > 0 && (double)(list[0]->end_frame - plateau->end_frame) >
                         SH_REST_AGE_MAX_S * rest->rate_hz) {
            break;
        }
        list[n++] = plateau;
        if (plateau_s(rest, plateau) >= SH_REST_PRELOAD_MAX_S) {
            break;
        }
    }
    return n;
}

static const struct sh_rest_plateau *
choose_plateau(const struct sh_rest *rest, uint64_t end_frame, const double *after_n)
{
    const struct sh_rest_plateau *list[SH_REST_PLATEAUS_MAX + 1];
    const size_t n = list_plateaus(rest, end_frame, list);
    const struct sh_rest_plateau *best = NULL;
    double best_cost_n = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double cost_n =
            after_n != NULL ? fabs(list[i]->level_n - *after_n) : list[i]->level_n;
        /* an earlier one has to be clearly better */
        if (best == NULL || cost_n < best_cost_n - SH_REST_TOLERANCE_N) {
            best = list[i];
            best_cost_n = cost_n;
        }
    }
    return best;
}

static void end_block(struct sh_rest *rest)
{
    const double n = (double)rest->n_in_block;
    const double mean_n = rest->sum_n / n;
    const struct block block = {
        .first_frame = rest->next_frame - rest->n_in_block,
        .end_frame = rest->next_frame,
        .mean_n = rest->first_n + mean_n,
        .white_n2 = 0.5 * rest->step_n2 / (n - 1.0),
        .variance_n2 = fmax(0.0, (rest->square_n2 - n * mean_n * mean_n) / (n - 1.0))};
    rest->n_in_block = 0;
    if (rest->is_block_filled) {
        return;
    }
    rest->lowest_n = rest->has_block ? fmin(rest->lowest_n, block.mean_n) : block.mean_n;
    rest->has_block = true;
    if (rest->has_current && is_near(rest, &rest->current, &block)) {
        rest->has_candidate = false;
        if (is_even(&block)) {
            extend_plateau(&rest->current, &block);
        }
    } else if (is_even(&block)) {
        try_candidate(rest, &block);
    } else {
        rest->has_candidate = false;
    }
    const struct sh_rest_plateau *live = choose_plateau(rest, UINT64_MAX, NULL);
    rest->live_n = live != NULL ? live->level_n : rest->lowest_n;
}

void sh_rest_push(struct sh_rest *rest, double force_n, bool is_filled)
{
    if (rest->n_in_block == 0) {
        rest->first_n = force_n;
        rest->last_n = force_n;
        rest->sum_n = 0.0;
        rest->square_n2 = 0.0;
        rest->step_n2 = 0.0;
        rest->is_block_filled = false;
    }
    const double off_n = force_n - rest->first_n;
    const double step_n = force_n - rest->last_n;
    rest->sum_n += off_n;
    rest->square_n2 += off_n * off_n;
    rest->step_n2 += step_n * step_n;
    rest->last_n = force_n;
    rest->is_block_filled = rest->is_block_filled || is_filled;
    rest->n_in_block++;
    rest->next_frame++;
    if (rest->n_in_block == rest->n_block) {
        end_block(rest);
    }
}

double sh_rest_get_level(const struct sh_rest *rest)
{
    return rest->live_n;
}

void sh_rest_choose(const struct sh_rest *rest,
                    uint64_t end_frame,
                    const double *after_n,
                    struct sh_rest_level *out)
{
    const struct sh_rest_plateau *plateau = choose_plateau(rest, end_frame, after_n);
    const double step_n2 = rest->resolution_n * rest->resolution_n / 12.0;
    *out = (struct sh_rest_level){.level_n = sh_quantity_unknown(SH_WHY_TOO_SHORT)};
    if (plateau == NULL) {
        if (rest->has_block) {
            out->level_n = sh_quantity_known(rest->lowest_n, SH_REST_TOLERANCE_N);
        }
        return;
    }
    const double n_free = fmax(1.0, plateau->n_blocks / CORRELATION_BLOCKS);
    const double mean_n2 = plateau->square_n2 + plateau->white_n2 / (double)rest->n_block;
    double u_n2 = mean_n2 / n_free + step_n2;
    if (after_n != NULL) { /* the zero may have moved in between, no one knows when */
        const double moved_n = *after_n - plateau->level_n;
        u_n2 += moved_n * moved_n / 12.0;
    }
    out->level_n = sh_quantity_known(plateau->level_n, sqrt(u_n2));
    out->white_n = sqrt(fmax(plateau->white_n2, step_n2));
    out->noise_n = sqrt(fmax(plateau->variance_n2, step_n2));
}

void sh_rest_forget(struct sh_rest *rest, uint64_t first_frame)
{
    rest->has_candidate = false;
    if (rest->has_current && rest->current.first_frame >= first_frame) {
        rest->has_current = false;
    }
    while (rest->n_past > 0 && rest->past[rest->n_past - 1].first_frame >= first_frame) {
        rest->n_past--;
    }
    if (!rest->has_current && rest->n_past > 0) {
        rest->current = rest->past[--rest->n_past];
        rest->has_current = true;
    }
    const struct sh_rest_plateau *live = choose_plateau(rest, UINT64_MAX, NULL);
    rest->live_n = live != NULL ? live->level_n : rest->lowest_n;
}
