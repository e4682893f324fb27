/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/workspace.h"

#include <math.h>
#include <stdlib.h>

#define N_SCRATCH   4u
#define RING_MODES  4u
#define RING_LAGS   300u
#define RING_SPAN_S 0.25
#define RING_N_MIN  512.0 /* samples; no fewer than the lags */

struct sh_workspace_config sh_workspace_config_default(void)
{
    return (struct sh_workspace_config){.hold_max_s = SH_WORKSPACE_HOLD_MAX_S};
}

static enum sh_status check_config(const struct sh_workspace_config *config,
                                   struct sh_error *err)
{
    const char *where = "workspace for measuring";
    if (config->n_streams == 0 || config->n_streams > SH_STREAMS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, where, "give 1 to 8 streams", "%zu streams",
                            config->n_streams);
    }
    for (size_t i = 0; i < config->n_streams; i++) {
        double rate_hz = config->rate_hz[i];
        if (!(rate_hz >= 1.0 && rate_hz <= SH_WORKSPACE_RATE_MAX_HZ)) {
            return sh_error_set(err, SH_ERR_ARGUMENT, where, "give a rate of 1 to 100000 Hz",
                                "stream %zu has a rate of %g Hz", i, rate_hz);
        }
    }
    if (!(config->hold_max_s >= 1.0 && config->hold_max_s <= SH_WORKSPACE_HOLD_MAX_S)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, where, "give 1 to 80 s",
                            "a longest hold of %g s", config->hold_max_s);
    }
    return SH_OK;
}

static double get_fastest_hz(const struct sh_workspace_config *config)
{
    double fastest_hz = 0.0;
    for (size_t i = 0; i < config->n_streams; i++) {
        fastest_hz = fmax(fastest_hz, config->rate_hz[i]);
    }
    return fastest_hz;
}

static enum sh_status open_transforms(struct sh_workspace *workspace, struct sh_error *err)
{
    const struct sh_workspace_config *config = &workspace->config;
    struct sh_multitaper_config spectrum = sh_multitaper_config_default();
    spectrum.is_density_only = true;
    spectrum.k = SH_WORKSPACE_TAPERS;
    enum sh_status status = sh_multitaper_open(&spectrum, &workspace->multitaper, err);
    double ring_n = ceil(RING_SPAN_S * get_fastest_hz(config)) + 1.0;
    ring_n = fmin(fmax(ring_n, RING_N_MIN), SH_WORKSPACE_RING_MAX);
    const struct sh_ringing_config ring = {
        .n_max = (size_t)ring_n, .n_modes = RING_MODES, .n_lags = RING_LAGS};
    if (status == SH_OK) {
        status = sh_ringing_open(&ring, &workspace->ringing, err);
    }
    const double fastest_hz = get_fastest_hz(config);
    if (status == SH_OK && fastest_hz >= SH_HAND_ARM_RATE_MIN_HZ) {
        status = sh_hand_arm_open((size_t)ceil(fastest_hz) + 1u, &workspace->hand_arm, err);
    }
    for (size_t i = 0; status == SH_OK && i < config->n_streams; i++) {
        status = sh_decimate_open(config->rate_hz[i], SH_WORKSPACE_TREMOR_HZ,
                                  &workspace->decimate[i], err);
    }
    return status;
}

/* n doubles, or NULL and *is_full: after the first failure nothing more is asked for. */
static double *take(size_t n, bool *is_full)
{
    double *array = *is_full ? NULL : malloc(n * sizeof(*array));
    *is_full = array == NULL;
    return array;
}

static enum sh_status open_arrays(struct sh_workspace *workspace, struct sh_error *err)
{
    bool is_full = false;
    const struct sh_workspace_config *config = &workspace->config;
    workspace->n_scratch = (size_t)ceil(config->hold_max_s * get_fastest_hz(config)) + 1u;
    for (size_t i = 0; i < N_SCRATCH; i++) {
        workspace->scratch[i] = take(workspace->n_scratch + 1u, &is_full);
    }
    workspace->points = take(SH_WORKSPACE_POINTS_ROOM, &is_full);
    workspace->sum_power = take(SH_WORKSPACE_BINS_MAX, &is_full);
    if (is_full) {
        return sh_error_set(err, SH_ERR_MEMORY, "workspace for measuring", NULL,
                            "no memory for %zu samples", workspace->n_scratch);
    }
    return SH_OK;
}

enum sh_status sh_workspace_open(const struct sh_workspace_config *config,
                                 struct sh_workspace **out,
                                 struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_workspace *workspace = calloc(1, sizeof(*workspace));
    if (workspace == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "workspace for measuring", NULL, "no memory");
    }
    workspace->config = *config;
    status = open_transforms(workspace, err);
    if (status == SH_OK) {
        status = open_arrays(workspace, err);
    }
    if (status != SH_OK) {
        sh_workspace_close(&workspace);
        return status;
    }
    *out = workspace;
    return SH_OK;
}

void sh_workspace_close(struct sh_workspace **workspace)
{
    if (workspace == NULL || *workspace == NULL) {
        return;
    }
    struct sh_workspace *closing = *workspace;
    sh_multitaper_close(&closing->multitaper);
    sh_ringing_close(&closing->ringing);
    sh_hand_arm_close(&closing->hand_arm);
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        sh_decimate_close(&closing->decimate[i]);
    }
    for (size_t i = 0; i < N_SCRATCH; i++) {
        free(closing->scratch[i]);
    }
    free(closing->points);
    free(closing->sum_power);
    free(closing);
    *workspace = NULL;
}
