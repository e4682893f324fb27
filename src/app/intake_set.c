/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/intake_set.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#define STEP_MS   20 /* how long all ports together may be waited for */
#define REOPEN_US 500000
#define US_PER_S  1000000
#define NS_PER_US 1000

static int64_t now_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

enum sh_status sh_intake_set_open(struct sh_capture_setup *setup,
                                  int64_t start_us,
                                  const struct sh_block_sink *sink,
                                  struct sh_intake_set *set,
                                  struct sh_error *err)
{
    *set = (struct sh_intake_set){.setup = setup};
    size_t first_stream = 0;
    for (size_t i = 0; i < setup->n_sensors; i++) {
        const struct sh_intake_config config = {.profile = &setup->profiles[i],
                                                .address = setup->address[i],
                                                .first_stream = first_stream,
                                                .start_host_us = start_us,
                                                .is_replay = setup->is_replay,
                                                .timeout_ms = STEP_MS / (int)setup->n_sensors,
                                                .sink = *sink,
                                                .opened = &setup->port[i]};
        enum sh_status status = sh_intake_open(&config, &set->intake[i], err);
        if (status != SH_OK) {
            return status;
        }
        first_stream += setup->profiles[i].n_streams;
    }
    return SH_OK;
}

void sh_intake_set_close(struct sh_intake_set *set)
{
    for (size_t i = 0; i < SH_CAPTURE_SETUP_SENSORS_MAX; i++) {
        sh_intake_close(&set->intake[i]);
    }
}

/* A sensor that was pulled comes back under the same address; a stream of bytes does not. */
static bool may_come_back(const char *address)
{
    char path[SH_HOME_PATH_BYTES];
    if (strcmp(address, "-") == 0 || strncmp(address, "tcp:", 4) == 0) {
        return false;
    }
    if (strncmp(address, "usb:", 4) == 0) {
        return true;
    }
    const char *real = realpath(address, path);
    const char *name = real != NULL ? real : address;
    return strncmp(name, "/dev/", 5) == 0 && strncmp(name, "/dev/pts/", 9) != 0;
}

static bool is_time_to_reopen(struct sh_intake_set *set)
{
    int64_t time_us = now_us();
    if (time_us - set->reopened_us < REOPEN_US) {
        return false;
    }
    set->reopened_us = time_us;
    return true;
}

/* Where all ports are closed no step waits for bytes. */
static void rest_if_all_closed(const struct sh_intake_set *set)
{
    const struct timespec pause = {.tv_nsec = (long)STEP_MS * 1000000};
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        if (sh_intake_is_open(set->intake[i])) {
            return;
        }
    }
    (void)nanosleep(&pause, NULL);
}

enum sh_status
sh_intake_set_step(struct sh_intake_set *set, bool *can_go_on, struct sh_error *err)
{
    size_t n_alive = 0;
    bool may_reopen = is_time_to_reopen(set);
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        enum sh_intake_answer answer = SH_INTAKE_NOTHING_YET;
        enum sh_status status = sh_intake_step(set->intake[i], &answer, err);
        if (status != SH_OK) {
            return status;
        }
        bool is_awaited = may_come_back(set->setup->address[i]);
        if (!sh_intake_is_open(set->intake[i]) && is_awaited && may_reopen) {
            struct sh_error not_yet = {0};
            (void)sh_intake_reopen(set->intake[i], &not_yet);
        }
        n_alive += sh_intake_is_open(set->intake[i]) || is_awaited ? 1 : 0;
    }
    *can_go_on = n_alive > 0;
    if (*can_go_on) {
        rest_if_all_closed(set);
    }
    return SH_OK;
}

enum sh_status sh_intake_set_flush(struct sh_intake_set *set, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < set->setup->n_sensors && status == SH_OK; i++) {
        status = sh_intake_flush(set->intake[i], err);
    }
    return status;
}

bool sh_intake_set_is_whole(const struct sh_intake_set *set)
{
    bool is_whole = true;
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        is_whole = is_whole && sh_intake_is_open(set->intake[i]);
    }
    return is_whole;
}

int64_t sh_intake_set_get_arrival_us(const struct sh_intake_set *set)
{
    int64_t latest_us = 0;
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        const int64_t us = sh_intake_get_arrival_us(set->intake[i]);
        latest_us = us > latest_us ? us : latest_us;
    }
    return latest_us;
}

size_t sh_intake_set_get_counts(const struct sh_intake_set *set,
                                struct sh_frame_counts counts[SH_STREAMS_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        for (size_t k = 0; k < set->setup->profiles[i].n_streams; k++) {
            counts[n++] = sh_intake_get_counts(set->intake[i], k);
        }
    }
    return n;
}

struct sh_frame_counts sh_intake_set_add_up(const struct sh_intake_set *set)
{
    struct sh_frame_counts sum = {0};
    struct sh_frame_counts counts[SH_STREAMS_MAX];
    size_t n = sh_intake_set_get_counts(set, counts);
    for (size_t i = 0; i < n; i++) {
        sum.good += counts[i].good;
        sum.damaged += counts[i].damaged;
        sum.repeated += counts[i].repeated;
        sum.late += counts[i].late;
        sum.lost += counts[i].lost;
        sum.skipped_bytes += counts[i].skipped_bytes;
    }
    return sum;
}

uint64_t sh_intake_set_get_strange(const struct sh_intake_set *set)
{
    uint64_t n_strange = 0;
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        n_strange += sh_intake_get_strange(set->intake[i]);
    }
    return n_strange;
}

uint64_t sh_intake_set_get_lost_bytes(const struct sh_intake_set *set)
{
    uint64_t n_bytes = 0;
    for (size_t i = 0; i < set->setup->n_sensors; i++) {
        n_bytes += sh_intake_get_lost_bytes(set->intake[i]);
    }
    return n_bytes;
}
