/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_zeros.h"

#include <stdlib.h>
#include <string.h>

#include "sensor/profile_format.h"

struct sh_live_zeros_kept {
    struct sh_text profile; /* as its file says it */
    struct sh_text address;
    double zero[SH_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
};

static void close_kept(struct sh_live_zeros_kept **kept)
{
    if (*kept != NULL) {
        sh_text_close(&(*kept)->profile);
        sh_text_close(&(*kept)->address);
        free(*kept);
        *kept = NULL;
    }
}

void sh_live_zeros_close(struct sh_live_zeros *zeros)
{
    for (size_t i = 0; i < zeros->n; i++) {
        close_kept(&zeros->kept[i]);
    }
    zeros->n = 0;
}

/* Which sensor of setup a stream of its session is of, and which of its profile's it is. */
static bool
find_sensor(const struct sh_capture_setup *setup, size_t s, size_t *sensor, size_t *first)
{
    *first = 0;
    for (*sensor = 0; *sensor < setup->n_sensors; (*sensor)++) {
        const size_t n = setup->profiles[*sensor].n_streams;
        if (s < *first + n) {
            return true;
        }
        *first += n;
    }
    return false;
}

/* What a sensor is known by, with zeros still to come. NULL: out of memory. */
static struct sh_live_zeros_kept *open_kept(const struct sh_profile *profile,
                                            const char *address)
{
    struct sh_live_zeros_kept *kept = calloc(1, sizeof *kept);
    if (kept == NULL) {
        return NULL;
    }
    sh_text_init(&kept->profile, 0);
    sh_text_init(&kept->address, 0);
    sh_profile_format(profile, &kept->profile);
    sh_text_puts(&kept->address, address);
    if (kept->profile.status != SH_OK || kept->address.status != SH_OK) {
        close_kept(&kept);
    }
    return kept;
}

static bool is_same_text(const struct sh_text *a, const struct sh_text *b)
{
    return a->n_bytes == b->n_bytes &&
           (a->n_bytes == 0 || memcmp(a->data, b->data, a->n_bytes) == 0);
}

/* The place of the same sensor; n: there is none. */
static size_t find_kept(const struct sh_live_zeros *zeros,
                        const struct sh_live_zeros_kept *same)
{
    size_t i = 0;
    while (i < zeros->n && (!is_same_text(&zeros->kept[i]->address, &same->address) ||
                            !is_same_text(&zeros->kept[i]->profile, &same->profile))) {
        i++;
    }
    return i;
}

static void drop(struct sh_live_zeros *zeros, size_t i)
{
    close_kept(&zeros->kept[i]);
    zeros->n--;
    for (; i < zeros->n; i++) {
        zeros->kept[i] = zeros->kept[i + 1];
    }
}

static void copy_zeros(const struct sh_capture_setup *setup,
                       size_t first,
                       size_t n,
                       struct sh_live_zeros_kept *to)
{
    for (size_t k = 0; k < n; k++) {
        const struct sh_stream *stream = &setup->session->streams[first + k].stream;
        for (size_t c = 0; c < SH_STREAM_CHANNELS_MAX; c++) {
            to->zero[k][c] = stream->channel[c].zero;
        }
    }
}

static bool is_any_set(const struct sh_capture_setup *setup, size_t first, size_t n)
{
    bool is_set = false;
    for (size_t k = 0; k < n; k++) {
        is_set = is_set || sh_live_zeros_is_set(setup, first + k);
    }
    return is_set;
}

enum sh_status
sh_live_zeros_keep(struct sh_live_zeros *zeros, const struct sh_capture_setup *setup, size_t s)
{
    size_t sensor = 0;
    size_t first = 0;
    if (!find_sensor(setup, s, &sensor, &first)) {
        return SH_OK;
    }
    const struct sh_profile *profile = &setup->profiles[sensor];
    struct sh_live_zeros_kept *kept = open_kept(profile, setup->address[sensor]);
    if (kept == NULL) {
        return SH_ERR_MEMORY;
    }
    const size_t at = find_kept(zeros, kept);
    if (at < zeros->n) {
        drop(zeros, at);
    }
    if (!is_any_set(setup, first, profile->n_streams)) {
        close_kept(&kept);
        return SH_OK;
    }
    copy_zeros(setup, first, profile->n_streams, kept);
    if (zeros->n == SH_LIVE_ZEROS_MAX) {
        drop(zeros, 0);
    }
    zeros->kept[zeros->n++] = kept;
    return SH_OK;
}

void sh_live_zeros_fill(const struct sh_live_zeros *zeros, struct sh_capture_choice *choice)
{
    for (size_t i = 0; i < choice->n_sensors; i++) {
        struct sh_live_zeros_kept *same =
            open_kept(&choice->profiles[i], sh_capture_choice_get_address(choice, i));
        const size_t at = same != NULL ? find_kept(zeros, same) : zeros->n;
        if (at < zeros->n) {
            choice->zero[i] = (const double(*)[SH_STREAM_CHANNELS_MAX])zeros->kept[at]->zero;
        }
        close_kept(&same);
    }
}

const struct sh_stream *sh_live_zeros_find_own(const struct sh_capture_setup *setup, size_t s)
{
    size_t sensor = 0;
    size_t first = 0;
    return find_sensor(setup, s, &sensor, &first)
               ? &setup->profiles[sensor].streams[s - first].stream
               : NULL;
}

bool sh_live_zeros_is_set(const struct sh_capture_setup *setup, size_t s)
{
    const struct sh_stream *own = sh_live_zeros_find_own(setup, s);
    const struct sh_stream *now = &setup->session->streams[s].stream;
    for (size_t c = 0; own != NULL && c < own->n_channels; c++) {
        if (now->channel[c].zero < own->channel[c].zero ||
            now->channel[c].zero > own->channel[c].zero) {
            return true;
        }
    }
    return false;
}
