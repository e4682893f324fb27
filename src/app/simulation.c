/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/simulation.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "sim/chance.h"

#define BAUD           921600
#define STIFFNESS_U    8.0   /* N/m: what a table of draw lengths gives */
#define PART_STIFFNESS 2000u /* of the seed */
#define STIFFNESS_LOW  280.0 /* N/m: what the bow's law takes */
#define STIFFNESS_HIGH 600.0
#define TRAVEL_RATIO   2.4 /* a light bow is drawn less far: travel, of force over stiffness */
#define STARTED        "2026-05-14T09:30:00.000Z"
#define UTC_OFFSET_MIN 120

struct sh_simulation_config sh_simulation_config_default(void)
{
    return (struct sh_simulation_config){.seed = 1,
                                         .set = "force_bow",
                                         .athlete = "wren",
                                         .n_draws = 12,
                                         .fault_size_ratio = 1.0,
                                         .draw_weight_n =
                                             sh_bow_law_config_default().full_force_n};
}

static struct sh_session_plan_config make_plan_config(const struct sh_simulation_config *config)
{
    struct sh_session_plan_config plan = sh_session_plan_config_default();
    plan.seed = config->seed;
    plan.n_draws = config->n_draws;
    plan.clock_s = config->clock_s;
    plan.fault_size_ratio = config->fault_size_ratio;
    plan.drop_bend = config->drop_bend;
    plan.double_draw_ratio = config->double_draw_ratio;
    plan.tab_ratio = config->tab_ratio;
    double ratio = config->draw_weight_n / plan.bow.full_force_n;
    plan.bow.full_force_n = config->draw_weight_n;
    plan.bow.stiffness_n_per_m *= ratio;
    plan.bow.stiffness_n_per_m =
        fmin(fmax(plan.bow.stiffness_n_per_m, STIFFNESS_LOW), STIFFNESS_HIGH);
    double longest_m = TRAVEL_RATIO * config->draw_weight_n / plan.bow.stiffness_n_per_m;
    plan.bow.full_travel_m = fmin(plan.bow.full_travel_m, longest_m);
    for (size_t i = 0; i < SH_ARCHER_FAULTS; i++) {
        bool may_happen = (config->faults & (1u << i)) != 0;
        plan.fault_ratio[i] = may_happen ? config->fault_ratio : 0.0;
    }
    return plan;
}

/* The stiffness is stated as somebody would have measured it: off by what it is uncertain by.
 */
static void fill_bow(const struct sh_session_plan *plan, uint64_t seed, struct sh_bow *bow)
{
    struct sh_random random;
    sh_random_init(&random, sh_chance_seed(seed, PART_STIFFNESS));
    const double stated =
        plan->config.bow.stiffness_n_per_m + STIFFNESS_U * sh_random_get_normal(&random);
    (void)snprintf(bow->name, sizeof bow->name, "kiln");
    bow->draw_weight_n = sh_quantity_known(plan->config.bow.full_force_n, 0.0);
    bow->stiffness_n_per_m = sh_quantity_known(stated, STIFFNESS_U);
    bow->clicker = plan->config.has_clicker ? SH_ANSWER_YES : SH_ANSWER_NO;
}

/* The clock of each end, as an archer's coach would have started it. */
static enum sh_status add_clocks(const struct sh_session_plan *plan, struct sh_session *session)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < plan->n_ends && plan->config.clock_s > 0.0 && status == SH_OK; i++) {
        const struct sh_mark mark = {.t_s = plan->end[i].begin_s,
                                     .kind = SH_MARK_CLOCK,
                                     .seconds = {true, plan->config.clock_s},
                                     .arrows = {true, (double)plan->config.arrows_an_end}};
        status = sh_session_add_mark(session, &mark);
    }
    return status;
}

static enum sh_status fill_session(const struct sh_simulation_config *config,
                                   struct sh_simulation *simulation)
{
    struct sh_session *session = simulation->session;
    (void)snprintf(session->started, sizeof session->started, STARTED);
    session->utc_offset_min = UTC_OFFSET_MIN;
    (void)snprintf(session->session, sizeof session->session, "simulated");
    (void)snprintf(session->athlete, sizeof session->athlete, "%s", config->athlete);
    fill_bow(simulation->plan, config->seed, &session->bow);
    session->n_streams = simulation->n_sources;
    for (size_t i = 0; i < simulation->n_sources; i++) {
        session->streams[i].stream = simulation->source[i].stream;
    }
    return add_clocks(simulation->plan, session);
}

/* The string's sensor reaches the end of its range at so much force. */
static void limit_force(struct sh_stream_source_config *source, double range_n)
{
    for (size_t c = 0; c < source->stream.n_channels; c++) {
        struct sh_channel *channel = &source->stream.channel[c];
        if (channel->role == SH_ROLE_STRING_FORCE) {
            channel->range_high = floor(channel->zero + range_n / channel->scale);
        }
    }
}

enum sh_status sh_simulation_open(const struct sh_simulation_config *config,
                                  struct sh_simulation *simulation,
                                  struct sh_error *err)
{
    *simulation = (struct sh_simulation){.seed = config->seed};
    simulation->session = calloc(1, sizeof *simulation->session);
    if (simulation->session == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status =
        sh_channel_set_find(config->set, simulation->source, &simulation->n_sources, err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 1; config->is_one_device && i < simulation->n_sources; i++) {
        simulation->source[i].clock_ppm = simulation->source[0].clock_ppm;
        simulation->source[i].offset_error_s = simulation->source[0].offset_error_s;
    }
    for (size_t i = 0; config->force_range_n > 0.0 && i < simulation->n_sources; i++) {
        limit_force(&simulation->source[i], config->force_range_n);
    }
    const struct sh_session_plan_config plan = make_plan_config(config);
    status = sh_session_plan_open(&plan, &simulation->plan, err);
    return status == SH_OK ? fill_session(config, simulation) : status;
}

void sh_simulation_close(struct sh_simulation *simulation)
{
    sh_session_plan_close(&simulation->plan);
    if (simulation->session != NULL) {
        sh_session_close(simulation->session);
    }
    free(simulation->session);
    *simulation = (struct sh_simulation){0};
}

enum sh_status sh_simulation_write_truth(const struct sh_simulation *simulation,
                                         const char *path,
                                         struct sh_error *err)
{
    const struct sh_truth_set set = {.seed = simulation->seed,
                                     .duration_s = simulation->plan->duration_s,
                                     .n_truths = simulation->plan->n_draws,
                                     .truth = simulation->plan->truth};
    return sh_truth_json_write(path, &set, err);
}

void sh_simulation_make_profile(const struct sh_simulation *simulation,
                                struct sh_profile *profile)
{
    *profile = (struct sh_profile){.baud = BAUD, .n_streams = simulation->n_sources};
    (void)snprintf(profile->name, sizeof profile->name, "simulated sensor");
    profile->framing = simulation->n_sources > 1 ? SH_FRAMING_PACKETS : SH_FRAMING_TEXT;
    for (size_t i = 0; i < simulation->n_sources; i++) {
        struct sh_profile_stream *stream = &profile->streams[i];
        stream->number = i;
        stream->stream = simulation->source[i].stream;
        stream->n_columns = stream->stream.n_channels;
        for (size_t k = 0; k < stream->n_columns; k++) {
            stream->column[k] = k;
        }
    }
}
