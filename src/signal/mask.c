/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/mask.h"

static bool is_present(const bool *present, size_t i)
{
    return present == NULL || present[i];
}

size_t sh_mask_compact(const double *x, const bool *present, size_t n, double *kept)
{
    size_t n_kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (is_present(present, i)) {
            kept[n_kept++] = x[i];
        }
    }
    return n_kept;
}

size_t sh_mask_find_stretch(const bool *present, size_t n, size_t from, size_t *first)
{
    size_t start = from;
    while (start < n && !is_present(present, start)) {
        start++;
    }
    size_t end = start;
    while (end < n && is_present(present, end)) {
        end++;
    }
    if (end == start) {
        return 0;
    }
    *first = start;
    return end - start;
}
