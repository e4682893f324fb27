/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/history_folders.h"

#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "signal/stats.h"

/* The shots of all earlier recordings, one value after the other. */
struct pool {
    struct sh_shot_record *shots;
    size_t n_shots;
};

static enum sh_status pool_add(struct pool *pool, const struct sh_analysis *earlier)
{
    size_t n = pool->n_shots + earlier->n_shots;
    struct sh_shot_record *grown = realloc(pool->shots, (n + 1) * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    pool->shots = grown;
    if (earlier->n_shots > 0) {
        memcpy(grown + pool->n_shots, earlier->shots, earlier->n_shots * sizeof *grown);
    }
    pool->n_shots = n;
    return SH_OK;
}

/* One recording's shots into the pool, its name into analysis. */
static enum sh_status add_folder(const char *folder,
                                 const struct sh_passes_config *config,
                                 struct pool *pool,
                                 struct sh_analysis *analysis,
                                 struct sh_error *err)
{
    struct sh_analysis earlier = {0};
    enum sh_status status = sh_analysis_store_get(folder, config->thresholds, &earlier, err);
    if (status != SH_OK) {
        return status;
    }
    if (strcmp(earlier.athlete, analysis->athlete) != 0) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, folder,
                              "compare an athlete with her own recordings",
                              "this recording is of '%s'", earlier.athlete);
    }
    if (status == SH_OK && (pool_add(pool, &earlier) != SH_OK ||
                            sh_analysis_add_history(analysis, earlier.recording) != SH_OK)) {
        status = sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "too much history");
    }
    sh_analysis_close(&earlier);
    return status;
}

static void
find_usual(const double *value, size_t n, double *work, struct sh_baseline_place *place)
{
    double median = 0.0;
    double mad = 0.0;
    if (n > 0 && sh_stats_get_median(value, n, work, &median, &mad) == SH_OK) {
        *place = (struct sh_baseline_place){n, median, SH_STATS_MAD_TO_SD * mad};
    }
}

/* Values of one place over the shots in which it is known; clocked_only: under a clock. */
static size_t collect(const struct pool *pool, size_t place, bool clocked_only, double *value)
{
    size_t n = 0;
    for (size_t i = 0; i < pool->n_shots; i++) {
        const struct sh_measures *measures = &pool->shots[i].measures;
        const struct sh_quantity *left = &measures->quantity[SH_MEASURE_TIME_LEFT_DRAW_FIRST];
        if (sh_quantity_is_known(&measures->quantity[place]) &&
            (!clocked_only || sh_quantity_is_known(left))) {
            value[n++] = measures->quantity[place].value;
        }
    }
    return n;
}

static enum sh_status
make_baseline(const struct pool *pool, double quantile, struct sh_baseline *baseline)
{
    double *value = malloc((pool->n_shots + 1) * sizeof *value);
    double *work = malloc((pool->n_shots + 1) * sizeof *work);
    enum sh_status status = value != NULL && work != NULL ? SH_OK : SH_ERR_MEMORY;
    *baseline = (struct sh_baseline){0};
    for (size_t place = 0; status == SH_OK && place < SH_MEASURE_PLACES; place++) {
        size_t n = collect(pool, place, false, value);
        find_usual(value, n, work, &baseline->place[place]);
    }
    if (status == SH_OK) {
        size_t n = collect(pool, SH_MEASURE_SETUP_TIME_FIRST, true, value);
        if (n > 0 && sh_stats_get_quantile(value, n, quantile, work,
                                           &baseline->set_up_quantile_s) == SH_OK) {
            baseline->n_clocked = n;
        }
    }
    free(value);
    free(work);
    return status;
}

enum sh_status sh_history_folders_read(const struct sh_passes_config *config,
                                       struct sh_analysis *analysis,
                                       struct sh_baseline *baseline,
                                       struct sh_error *err)
{
    struct pool pool = {0};
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < config->n_history && status == SH_OK; i++) {
        status = add_folder(config->history[i], config, &pool, analysis, err);
    }
    if (status == SH_OK) {
        status = make_baseline(&pool, config->thresholds->rushed_quantile, baseline);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, NULL, NULL, "out of memory");
        }
    }
    free(pool.shots);
    return status;
}
