/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/side_sample.h"

#include <math.h>
#include <stdlib.h>

#define FLAT 1e-12 /* of the size of the means: no scatter */

enum sh_status sh_side_sample_open(struct sh_side_sample *sample, size_t n)
{
    const size_t room = n + 2;
    sample->x = calloc(room, sizeof *sample->x);
    sample->raw = calloc(room, sizeof *sample->raw);
    sample->place = calloc(room, sizeof *sample->place);
    sample->is_second = calloc(room, sizeof *sample->is_second);
    sample->first = calloc(room, sizeof *sample->first);
    sample->order = calloc(room, sizeof *sample->order);
    sample->count = calloc(room, sizeof *sample->count);
    sample->sum = calloc(room, sizeof *sample->sum);
    sample->kind = calloc(room, sizeof *sample->kind);
    const bool is_whole = sample->x != NULL && sample->raw != NULL && sample->place != NULL &&
                          sample->is_second != NULL && sample->first != NULL &&
                          sample->order != NULL && sample->count != NULL &&
                          sample->sum != NULL && sample->kind != NULL;
    return is_whole ? SH_OK : SH_ERR_MEMORY;
}

void sh_side_sample_close(struct sh_side_sample *sample)
{
    free(sample->x);
    free(sample->raw);
    free(sample->place);
    free(sample->is_second);
    free(sample->first);
    free(sample->order);
    free(sample->count);
    free(sample->sum);
    free(sample->kind);
}

/* Forgets the stratum that begins at sample->first[n_strata] where it holds one side only, else
 * closes it, its level taken off. */
static void end_stratum(struct sh_side_sample *sample)
{
    const size_t first = sample->first[sample->n_strata];
    double level = 0.0;
    bool has[SH_SIDE_SAMPLE_SIDES] = {false, false};
    for (size_t i = first; i < sample->n; i++) {
        has[sample->is_second[i]] = true;
        level += sample->raw[i] / (double)(sample->n - first);
    }
    if (!has[0] || !has[1]) {
        sample->n = first;
        return;
    }
    for (size_t i = first; i < sample->n; i++) {
        sample->x[i] = sample->raw[i] - level;
    }
    sample->first[++sample->n_strata] = sample->n;
}

void sh_side_sample_take(const struct sh_side_list *all,
                         size_t figure,
                         struct sh_side_sample *sample)
{
    const double *mean = all->mean + figure * all->room;
    sample->n = 0;
    sample->n_strata = 0;
    for (size_t i = 0; i < all->n; i++) {
        if (i > 0 && all->stratum[i] != all->stratum[i - 1]) {
            end_stratum(sample);
        }
        if (!isnan(mean[i])) {
            sample->raw[sample->n] = mean[i];
            sample->place[sample->n] = i;
            sample->is_second[sample->n++] = all->is_second[i];
        }
    }
    end_stratum(sample);
}

struct sh_side_sample_finding sh_side_sample_look(const struct sh_side_sample *sample,
                                                  const bool *is_second)
{
    struct sh_side_sample_finding out = {.shift = 0.0};
    double weights = 0.0;
    double squares = 0.0;
    double size = 0.0;
    for (size_t s = 0; s < sample->n_strata; s++) {
        double mean[SH_SIDE_SAMPLE_SIDES] = {0.0};
        double n[SH_SIDE_SAMPLE_SIDES] = {0.0};
        for (size_t i = sample->first[s]; i < sample->first[s + 1]; i++) {
            const size_t side = is_second[i];
            mean[side] += sample->raw[i];
            n[side] += 1.0;
            size = fmax(size, fabs(sample->raw[i]));
        }
        for (size_t k = 0; k < SH_SIDE_SAMPLE_SIDES; k++) {
            out.mean[k] += mean[k];
            out.n[k] += (size_t)n[k];
            mean[k] /= n[k];
        }
        for (size_t i = sample->first[s]; i < sample->first[s + 1]; i++) {
            const double off = sample->raw[i] - mean[is_second[i]];
            squares += off * off;
        }
        const double weight = n[0] * n[1] / (n[0] + n[1]);
        out.freedom += n[0] + n[1] - 2.0;
        weights += weight;
        out.shift += weight * (mean[1] - mean[0]);
    }
    for (size_t k = 0; k < SH_SIDE_SAMPLE_SIDES; k++) {
        out.mean[k] /= (double)out.n[k];
    }
    out.shift /= weights;
    out.sd = out.freedom > 0.0 ? sqrt(squares / out.freedom) : 0.0;
    out.u = out.sd / sqrt(weights);
    out.has_scatter = out.sd > FLAT * size;
    return out;
}

static bool has_both(const struct sh_side_sample *sample)
{
    for (size_t s = 0; s < sample->n_strata; s++) {
        size_t n = 0;
        for (size_t i = sample->first[s]; i < sample->first[s + 1]; i++) {
            n += sample->kind[i] ? 1u : 0u;
        }
        if (n == 0 || n == sample->first[s + 1] - sample->first[s]) {
            return false;
        }
    }
    return true;
}

double sh_side_sample_get_t(const struct sh_side_sample *sample, const bool *side)
{
    for (size_t i = 0; i < sample->n; i++) {
        sample->kind[i] = side[sample->place[i]];
    }
    if (!has_both(sample)) {
        return 0.0;
    }
    const struct sh_side_sample_finding found = sh_side_sample_look(sample, sample->kind);
    return found.u > 0.0 ? fabs(found.shift) / found.u : (double)INFINITY;
}
