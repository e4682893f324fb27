/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SIMULATION_H
#define SH_APP_SIMULATION_H

#include "recording/session.h"
#include "sensor/profile.h"
#include "sim/channel_set.h"
#include "sim/session_plan.h"
#include "sim/truth_json.h"

/*
 * A simulated evening, ready to be written or sent: the plan with its truth, the sensors, and
 * what recording.json would say of it.
 */

struct sh_simulation_config {
    uint64_t seed;
    const char *set; /* name of a channel set, sim/channel_set.h */
    const char *athlete;
    size_t n_draws;
    double clock_s;           /* of each end; 0: no clock */
    double draw_weight_n;     /* 40 to 300 */
    unsigned faults;          /* sh_archer_fault, or-ed: which may happen */
    double fault_ratio;       /* how likely each of them is in a draw */
    double fault_size_ratio;  /* how large, of sim/archer.h's */
    double drop_bend;         /* of the release's fall, at most so much either way; 0 to 1 */
    double double_draw_ratio; /* how likely a draw follows the last one within seconds */
    double tab_ratio;         /* how likely the tab takes more of the fingers' force */
    double force_range_n;     /* of the string's sensor: it shows no more; 0: the set's own */
    bool is_one_device;       /* all streams by one clock, as one device sends them */
};

struct sh_simulation {
    struct sh_session_plan *plan; /* owned */
    struct sh_stream_source_config source[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_sources;
    struct sh_session *session; /* owned: bow, streams, clock marks; no anchors, no gaps */
    uint64_t seed;
};

/* Seed 1, force_bow, wren, 12 draws, no clock, the default bow, no faults. */
struct sh_simulation_config sh_simulation_config_default(void);

/*
 * Plans the evening. SH_ERR_NOT_FOUND: no such channel set; SH_ERR_ARGUMENT, SH_ERR_MEMORY.
 * *simulation is to be closed whatever comes back.
 */
enum sh_status sh_simulation_open(const struct sh_simulation_config *config,
                                  struct sh_simulation *simulation,
                                  struct sh_error *err);

/* Frees what it owns and zeroes it. */
void sh_simulation_close(struct sh_simulation *simulation);

/* Writes the truth as JSON. Statuses of sh_truth_json_write. */
enum sh_status sh_simulation_write_truth(const struct sh_simulation *simulation,
                                         const char *path,
                                         struct sh_error *err);

/* The profile that reads the sensor: packets where there are several streams, else lines. */
void sh_simulation_make_profile(const struct sh_simulation *simulation,
                                struct sh_profile *profile);

#endif
