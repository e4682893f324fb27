/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_lane.h"

#include <math.h>
#include <stdlib.h>

#include "metrology/scale.h"

enum sh_status sh_limit_lane_open(const struct sh_channel *channel,
                                  double rate_hz,
                                  uint64_t first_frame,
                                  struct sh_limit_lane *out)
{
    double n_window = fmax(1.0, round(SH_LIMIT_LANE_MEAN_S * rate_hz));
    *out = (struct sh_limit_lane){
        .channel = channel, .rate_hz = rate_hz, .n_window = (size_t)n_window};
    out->window = calloc(out->n_window, sizeof *out->window);
    if (out->window == NULL) {
        return SH_ERR_MEMORY;
    }
    double resolution_n =
        channel->is_physical ? 0.0 : fabs(sh_scale_slope(channel, channel->zero));
    sh_rest_init(&out->rest, rate_hz, resolution_n, first_frame);
    return SH_OK;
}

void sh_limit_lane_close(struct sh_limit_lane *lane)
{
    free(lane->window);
    *lane = (struct sh_limit_lane){0};
}

/* Level of rest, and how well it is known; both stand still during a draw. */
static void follow_rest(struct sh_limit_lane *lane, double force_n, bool is_filled)
{
    sh_rest_push(&lane->rest, force_n, is_filled);
    lane->base_n = sh_rest_get_level(&lane->rest);
}

static double find_mean(const struct sh_limit_lane *lane)
{
    double sum_n = 0.0;
    for (size_t i = 0; i < lane->n_in; i++) {
        sum_n += lane->window[i];
    }
    return lane->n_in > 0 ? sum_n / (double)lane->n_in : 0.0;
}

void sh_limit_lane_push(
    struct sh_limit_lane *lane, double raw, double force_n, bool is_filled, bool is_drawn)
{
    if (!is_drawn) {
        follow_rest(lane, force_n, is_filled);
    }
    const double net_n = force_n - lane->base_n;
    lane->raw = raw;
    lane->window[lane->next] = net_n;
    lane->next = (lane->next + 1) % lane->n_window;
    lane->n_in += lane->n_in < lane->n_window ? 1 : 0;
    lane->net_n = find_mean(lane);
    lane->raw_low = fmin(lane->raw_low, raw);
    lane->raw_high = fmax(lane->raw_high, raw);
    lane->is_clipped = lane->is_clipped || sh_scale_is_clipped(lane->channel, raw);
    lane->has_gap = lane->has_gap || is_filled;
    lane->impulse_n_s += net_n / lane->rate_hz;
    lane->length_s += 1.0 / lane->rate_hz;
    if (lane->net_n > lane->peak_n && lane->n_in == lane->n_window) {
        lane->peak_n = lane->net_n;
        lane->peak_raw = raw;
    }
}

static double get_level_n(size_t level)
{
    return pow(SH_LIMIT_LANE_LEVEL_RATIO, (double)level);
}

void sh_limit_lane_mark_total(struct sh_limit_lane *lane, double total_n)
{
    double above = total_n > 1.0 ? log(total_n) / log(SH_LIMIT_LANE_LEVEL_RATIO) : -1.0;
    size_t first = above < 0.0 ? 0 : (size_t)above + 1u;
    for (size_t i = first; i < SH_LIMIT_LANE_LEVELS; i++) {
        lane->impulse_at[i] = lane->impulse_n_s;
        lane->length_at[i] = lane->length_s;
    }
}

void sh_limit_lane_begin(struct sh_limit_lane *lane)
{
    struct sh_rest_level level;
    sh_rest_choose(&lane->rest, lane->rest.next_frame, NULL, &level);
    lane->rest_u_n = sh_quantity_is_known(&level.level_n) ? level.level_n.u : 0.0;
    lane->rest_raw = lane->raw;
    lane->raw_low = lane->raw;
    lane->raw_high = lane->raw;
    lane->peak_n = 0.0;
    lane->peak_raw = lane->raw;
    lane->impulse_n_s = 0.0;
    lane->length_s = 0.0;
    lane->is_clipped = false;
    lane->has_gap = false;
    for (size_t i = 0; i < SH_LIMIT_LANE_LEVELS; i++) {
        lane->impulse_at[i] = 0.0;
        lane->length_at[i] = 0.0;
    }
}

struct sh_quantity sh_limit_lane_get_peak_n(const struct sh_limit_lane *lane)
{
    const double scale_u = sh_scale_difference_u(lane->channel, lane->peak_raw, lane->rest_raw);
    const double noise_u = lane->channel->noise / sqrt((double)lane->n_window);
    return sh_quantity_known(lane->peak_n, hypot(hypot(scale_u, noise_u), lane->rest_u_n));
}

struct sh_quantity sh_limit_lane_get_impulse_n_s(const struct sh_limit_lane *lane,
                                                 double largest_n)
{
    const double start_n = SH_LIMIT_LANE_START_RATIO * largest_n;
    size_t level = 0;
    while (level + 1 < SH_LIMIT_LANE_LEVELS && get_level_n(level + 1) <= start_n) {
        level++;
    }
    const double impulse = lane->impulse_n_s - lane->impulse_at[level];
    const double length_s = lane->length_s - lane->length_at[level];
    const struct sh_quantity peak = sh_limit_lane_get_peak_n(lane);
    const double ratio =
        peak.value > 0.0
            ? sh_scale_difference_u(lane->channel, lane->peak_raw, lane->rest_raw) / peak.value
            : 0.0;
    const double scale_u = hypot(ratio, SH_LIMIT_LANE_START_U) * fabs(impulse);
    return sh_quantity_known(impulse, hypot(scale_u, lane->rest_u_n * length_s));
}

bool sh_limit_lane_is_dead(const struct sh_limit_lane *lane)
{
    return !(lane->raw_high > lane->raw_low);
}
