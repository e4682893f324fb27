/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/click_template.h"

#include <math.h>
#include <stdlib.h>

#include "shot/click_template_inside.h"
#include "shot/clicker.h"
#include "signal/distribution.h"
#include "signal/stats.h"

#define WEAKEST_LEVEL 0.995  /* SH_CLICK_TEMPLATE_WEAKEST of a normal law */
#define ALIGN_S       0.0025 /* blows are lined up within this */
#define SPREAD_MIN    0.1    /* of the logarithm of a blow's strength: no archer is steadier */
#define ARRIVAL_U     0.3    /* frames: what all picks of a soft blow are late or early */

enum sh_status sh_click_template_open(struct sh_click_template **out, struct sh_error *err)
{
    *out = calloc(1, sizeof **out);
    if (*out == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "clicker", NULL, "no memory for its shape");
    }
    return SH_OK;
}

void sh_click_template_close(struct sh_click_template **click)
{
    if (click != NULL) {
        free(*click);
        *click = NULL;
    }
}

size_t sh_click_template_get_count(const struct sh_click_template *click)
{
    return click->n_used;
}

bool sh_click_template_find_axes(const struct sh_shot_view *view,
                                 enum sh_clicker_sensor sensor,
                                 size_t *stream,
                                 struct sh_high_pass *pass)
{
    const bool is_sound = sensor == SH_CLICKER_SOUND;
    const enum sh_role role = is_sound ? SH_ROLE_SOUND : SH_ROLE_BOW_ACCELERATION;
    size_t first = 0;
    if (!sh_shot_view_find(view, role, SH_AXIS_NONE, SH_FINGER_NONE, stream, &first)) {
        return false;
    }
    *pass = (struct sh_high_pass){.stream = &view->stream[*stream],
                                  .corner_hz = is_sound ? SH_CLICKER_SOUND_CORNER_HZ
                                                        : SH_CLICKER_ACCELERATION_CORNER_HZ};
    const struct sh_stream *described = pass->stream->stream;
    for (size_t c = first; c < described->n_channels; c++) {
        if (described->channel[c].role == role &&
            pass->n_channels < SH_CLICK_TEMPLATE_AXES_MAX) {
            pass->channel[pass->n_channels++] = c;
        }
    }
    return true;
}

/* Takes the first shot's stream for all; false where a shot is of another. */
static bool settle_stream(struct sh_click_template *click,
                          enum sh_clicker_sensor sensor,
                          size_t stream,
                          const struct sh_high_pass *pass)
{
    const double rate_hz = pass->stream->stream->rate_hz;
    if (click->n_clicks > 0) {
        return click->sensor == sensor && click->stream == stream &&
               click->n_axes == pass->n_channels && fabs(click->rate_hz - rate_hz) <= 0.0;
    }
    click->sensor = sensor;
    click->stream = stream;
    click->rate_hz = rate_hz;
    click->n_axes = pass->n_channels;
    click->n_before = (size_t)ceil(SH_CLICK_TEMPLATE_BEFORE_S * rate_hz);
    click->n_frames = (size_t)ceil(SH_CLICK_TEMPLATE_LENGTH_S * rate_hz);
    return click->n_frames <= SH_CLICK_TEMPLATE_FRAMES_MAX && click->n_frames > click->n_before;
}

/* Another's clicker sounds as sure as one's own: how alike they are has to tell them apart. */
static bool is_to_learn(const struct sh_shot *shot)
{
    const double probability = shot->clicker_probability;
    return (shot->clicker_sensor == SH_CLICKER_ACCELERATION &&
            probability >= SH_CLICK_TEMPLATE_LEARN_MIN) ||
           (shot->clicker_sensor == SH_CLICKER_SOUND &&
            probability >= SH_CLICKER_PROBABILITY_MIN);
}

void sh_click_template_learn(struct sh_click_template *click,
                             const struct sh_shot_view *view,
                             const struct sh_shot *shot,
                             double *work)
{
    const struct sh_quantity *clicker_s = &shot->event_s[SH_EVENT_CLICKER];
    struct sh_high_pass pass;
    size_t stream = 0;
    if (click->n_clicks == SH_CLICK_TEMPLATE_CLICKS_MAX) {
        return;
    }
    click->n_asked += shot->kind == SH_SHOT_SHOT ? 1 : 0;
    if (!is_to_learn(shot) ||
        !sh_click_template_find_axes(view, shot->clicker_sensor, &stream, &pass) ||
        !settle_stream(click, shot->clicker_sensor, stream, &pass)) {
        return;
    }
    const double delay_s = pass.stream->stream->channel[pass.channel[0]].delay_s;
    const double exact = sh_shot_stream_index(pass.stream, delay_s, clicker_s->value);
    const size_t at = sh_high_pass_get_frame(&pass, clicker_s->value);
    if (at < click->n_before ||
        at - click->n_before + click->n_frames > pass.stream->n_frames) {
        return;
    }
    struct click *kept = &click->click[click->n_clicks];
    pass.first = at - click->n_before;
    pass.n = click->n_frames;
    double square = 0.0;
    for (size_t a = 0; a < pass.n_channels; a++) {
        if (sh_high_pass_filter(&pass, a, work) != SH_OK) {
            return;
        }
        for (size_t i = 0; i < pass.n; i++) {
            kept->shape[a * pass.n + i] = work[i];
            square += work[i] * work[i];
        }
    }
    kept->norm = sqrt(square);
    kept->arrival = exact - (double)pass.first;
    click->n_clicks += kept->norm > 0.0 ? 1 : 0;
}

struct sh_match sh_click_template_get_match(const struct sh_click_template *click)
{
    return (struct sh_match){.n_axes = click->n_axes,
                             .n_frames = click->n_frames,
                             .lag_max = (size_t)ceil(ALIGN_S * click->rate_hz)};
}

/* The blow that is most like all others: the largest median of its correlations. */
static size_t find_middle(const struct sh_click_template *click)
{
    const struct sh_match match = sh_click_template_get_match(click);
    double correlation[SH_CLICK_TEMPLATE_CLICKS_MAX];
    double best = -1.0;
    size_t middle = 0;
    for (size_t k = 0; k < click->n_clicks; k++) {
        for (size_t i = 0; i < click->n_clicks; i++) {
            double lag = 0.0;
            correlation[i] =
                sh_match_align(&match, click->click[k].shape, click->click[i].shape, &lag);
        }
        const double median = sh_stats_select_median(correlation, click->n_clicks);
        if (median > best) {
            best = median;
            middle = k;
        }
    }
    return middle;
}

/* Averages the blows that are like one, lined up with it; leaves the lags of each in lag. */
static void average_blows(struct sh_click_template *click, const double *like, double *lag)
{
    const struct sh_match match = sh_click_template_get_match(click);
    const size_t n = click->n_axes * click->n_frames;
    double sum[SH_CLICK_TEMPLATE_AXES_MAX * SH_CLICK_TEMPLATE_FRAMES_MAX] = {0};
    click->n_used = 0;
    for (size_t k = 0; k < click->n_clicks; k++) {
        struct click *one = &click->click[k];
        const double correlation = sh_match_align(&match, like, one->shape, &lag[k]);
        one->is_used = correlation >= SH_CLICK_TEMPLATE_ALIKE;
        if (!one->is_used) {
            continue;
        }
        click->n_used++;
        sh_match_add_shifted(&match, one->shape, lag[k], 1.0 / one->norm, sum);
    }
    double square = 0.0;
    for (size_t i = 0; i < n; i++) {
        square += sum[i] * sum[i];
    }
    for (size_t i = 0; i < n && square > 0.0; i++) {
        click->shape[i] = sum[i] / sqrt(square);
    }
}

/* Where the arrivals lie in the shape, and how strong the blows are. */
static void find_laws(struct sh_click_template *click, const double *lag)
{
    const struct sh_match match = sh_click_template_get_match(click);
    double arrival[SH_CLICK_TEMPLATE_CLICKS_MAX];
    double amount[SH_CLICK_TEMPLATE_CLICKS_MAX];
    double sd = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < click->n_clicks; k++) {
        if (click->click[k].is_used) {
            const double found =
                sh_match_get_amount(&match, click->shape, click->click[k].shape, lag[k]);
            arrival[n] = click->click[k].arrival - lag[k];
            amount[n++] = log(fmax(found, 1e-300));
        }
    }
    double mean = 0.0;
    double log_sd = 0.0;
    if (sh_stats_get_mean(arrival, n, &mean, &sd) != SH_OK ||
        sh_stats_get_mean(amount, n, &click->log_mean, &log_sd) != SH_OK) {
        click->n_used = 0;
        return;
    }
    click->arrival = sh_stats_select_median(arrival, n);
    click->arrival_u = hypot(ARRIVAL_U, sd / sqrt((double)n));
    /* a further blow is predicted from n of them, so that WEAKEST of it holds what it says */
    const double student = sh_distribution_get_t_quantile(WEAKEST_LEVEL, (double)n - 1.0);
    click->log_sd = fmax(SPREAD_MIN, log_sd * student / SH_CLICK_TEMPLATE_WEAKEST) *
                    sqrt(1.0 + 1.0 / (double)n);
}

void sh_click_template_finish(struct sh_click_template *click)
{
    double lag[SH_CLICK_TEMPLATE_CLICKS_MAX];
    click->n_used = 0;
    if (click->n_clicks < SH_CLICK_TEMPLATE_CLICKS_MIN) {
        return;
    }
    average_blows(click, click->click[find_middle(click)].shape, lag);
    const bool is_usual = 2 * click->n_used >= click->n_asked;
    if (click->n_used < SH_CLICK_TEMPLATE_CLICKS_MIN ||
        (click->sensor == SH_CLICKER_SOUND && !is_usual)) {
        click->n_used = 0;
        return;
    }
    find_laws(click, lag);
}
