/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/live_inside.h"
#include "live/number_text.h"
#include "metrology/scale.h"
#include "series/rating.h"

#define CHUNK_FRAMES 64u
#define US_PER_MS    1e3

static void set_current(struct sh_live_page *page, unsigned id)
{
    page->id = id;
    (void)pthread_mutex_lock(&page->lock);
    page->current = id;
    (void)pthread_mutex_unlock(&page->lock);
}

static void set_wave(struct sh_live_page *page, struct sh_live_wave *wave)
{
    (void)pthread_mutex_lock(&page->wave_lock);
    sh_live_wave_close(&page->wave);
    page->wave = wave;
    (void)pthread_mutex_unlock(&page->wave_lock);
}

void sh_live_set_archer(struct sh_live_page *page, const char *athlete)
{
    const struct sh_hold_goal goal = sh_hold_goal_read(page->config.setup->home, athlete);
    (void)pthread_mutex_lock(&page->lock);
    page->goal = goal;
    (void)snprintf(page->sensors.athlete, sizeof page->sensors.athlete, "%s", athlete);
    (void)pthread_mutex_unlock(&page->lock);
}

static void begin_sensors(struct sh_live_page *page)
{
    (void)pthread_mutex_lock(&page->lock);
    sh_live_sensors_begin(&page->sensors, page->config.setup, sh_live_now_s());
    (void)pthread_mutex_unlock(&page->lock);
}

static void warn(struct sh_live_page *page, const struct sh_error *err)
{
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(err, line);
    sh_live_tell_warning(page, "sensor", line);
}

void sh_live_front_begin(void *context, const struct sh_capture_recording *recording)
{
    struct sh_live_page *page = context;
    struct sh_live_wave *wave = NULL;
    struct sh_error err = {.status = SH_OK};
    const char *name = strrchr(recording->folder, '/');
    page->session = recording->session;
    page->begin_s = recording->begin_s;
    page->released_s = (double)NAN;
    (void)snprintf(page->folder, sizeof page->folder, "%s", recording->folder);
    memset(page->drift, 0, sizeof page->drift);
    size_t n_channels = 0;
    for (size_t s = 0; s < page->session->n_streams; s++) {
        page->first_channel[s] = n_channels;
        n_channels += page->session->streams[s].stream.n_channels;
    }
    sh_live_force_init(&page->force, page->session);
    sh_live_sensor_init(&page->sensor, page->session);
    sh_analysis_init(&page->shots, name != NULL ? name + 1 : page->folder,
                     page->session->athlete);
    if (sh_live_wave_open(page->session, &wave, &err) != SH_OK) {
        warn(page, &err);
    }
    set_wave(page, wave);
    sh_live_set_archer(page, page->session->athlete);
    begin_sensors(page);
}

static void tell_event(struct sh_live_page *page, unsigned id, const char *event)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shelf_write_event(page->shelf, id, event, &text);
    sh_live_tell(page, SH_ROOM_LOGGED, &text);
}

/* The recording's folder is there once something has been kept in it. */
static void put_on_shelf(struct sh_live_page *page)
{
    char path[SH_HOME_PATH_BYTES + 32];
    struct stat about;
    struct sh_error err = {.status = SH_OK};
    unsigned id = 0;
    (void)snprintf(path, sizeof path, "%s/recording.json", page->folder);
    if (page->id != 0 || page->session == NULL || stat(path, &about) != 0) {
        return;
    }
    if (sh_shelf_begin(page->shelf, page->folder, &id, &err) != SH_OK) {
        return; /* tried again with what comes next */
    }
    set_current(page, id);
    tell_event(page, id, "begun");
}

static double get_time_s(const struct sh_live_page *page,
                         const struct sh_clocks *clocks,
                         size_t stream,
                         double frame)
{
    return sh_timebase_time(&clocks->timebase[stream], SH_TIMEBASE_FORWARD, frame, NULL) -
           page->begin_s;
}

static void take_release(struct sh_live_page *page,
                         const struct sh_clocks *clocks,
                         const struct sh_release_watch_event *event)
{
    const size_t stream = page->force.stream;
    const struct sh_channel *channel =
        &page->session->streams[stream].stream.channel[page->force.channel[0]];
    const double t_s =
        get_time_s(page, clocks, stream, event->release_frame) - channel->delay_s;
    const double hold_s =
        event->has_hold
            ? t_s + channel->delay_s - get_time_s(page, clocks, stream, event->hold_frame)
            : (double)NAN;
    page->released_s = t_s;
    sh_live_tell_release(page, t_s, hold_s, (double)clocks->arrived_us / US_PER_MS);
}

/* Some frames in physical values, to all that look at them. */
static void push_chunk(struct sh_live_page *page,
                       const struct sh_block *block,
                       const struct sh_clocks *clocks,
                       size_t first,
                       size_t n)
{
    double value[CHUNK_FRAMES * SH_STREAM_CHANNELS_MAX];
    const struct sh_stream *stream = &page->session->streams[block->stream].stream;
    const double frame = (double)(block->first_frame + first);
    struct sh_release_watch_event event;
    for (size_t i = 0; i < n; i++) {
        double *at = value + i * block->n_channels;
        sh_scale_frame_steadily(stream, block->raw + (first + i) * block->n_channels,
                                1.0 / stream->rate_hz, page->drift[block->stream], at);
        if (sh_live_force_push(&page->force, block->stream, block->first_frame + first + i, at,
                               block->is_filled, &event)) {
            take_release(page, clocks, &event);
        }
    }
    const double start_s = get_time_s(page, clocks, block->stream, frame);
    const double end_s = get_time_s(page, clocks, block->stream, frame + (double)n);
    const struct sh_wave_frames frames = {.first_channel = page->first_channel[block->stream],
                                          .n_channels = block->n_channels,
                                          .n_frames = n,
                                          .value = value,
                                          .start_s = start_s,
                                          .step_s = (end_s - start_s) / (double)n,
                                          .is_lost = block->is_filled};
    if (page->wave != NULL) {
        sh_live_wave_push(page->wave, &frames);
    }
}

void sh_live_front_block(void *context,
                         const struct sh_block *block,
                         const struct sh_clocks *clocks)
{
    struct sh_live_page *page = context;
    const double before_s = sh_live_thread_s(page);
    put_on_shelf(page);
    sh_live_sensor_push(&page->sensor, block);
    for (size_t i = 0; i < block->n_frames; i += CHUNK_FRAMES) {
        const size_t n = block->n_frames - i;
        push_chunk(page, block, clocks, i, n < CHUNK_FRAMES ? n : CHUNK_FRAMES);
    }
    page->measures.front_s += sh_live_thread_s(page) - before_s;
}

void sh_live_front_shot(void *context,
                        const struct sh_shot_record *record,
                        const struct sh_shot_view *view)
{
    struct sh_live_page *page = context;
    const double before_s = sh_live_thread_s(page);
    put_on_shelf(page);
    if (sh_live_draws_add(&page->draws, &record->shot, view) == SH_OK &&
        sh_analysis_add(&page->shots, record) == SH_OK && page->id != 0) {
        (void)sh_shelf_put_shot(page->shelf, page->id, record);
        sh_live_tell_shot(page, record->shot.n);
    }
    page->measures.front_s += sh_live_thread_s(page) - before_s;
}

static bool keep_mark(struct sh_live_page *page, const struct sh_mark *mark)
{
    struct sh_mark *grown = realloc(page->marks, (page->n_marks + 1) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    page->marks = grown;
    page->marks[page->n_marks++] = *mark;
    return true;
}

void sh_live_front_mark(void *context, const struct sh_mark *mark)
{
    struct sh_live_page *page = context;
    put_on_shelf(page);
    if (!keep_mark(page, mark)) {
        return;
    }
    sh_live_tell_mark(page, "mark", mark);
    if (mark->kind == SH_MARK_LIMIT_REACHED || mark->kind == SH_MARK_WARNING) {
        sh_live_tell_warning(page, "limit", mark->text);
    }
    if (mark->shot.is_given && (mark->kind == SH_MARK_ARROW || mark->kind == SH_MARK_NOTE)) {
        sh_live_tell_shot(page, (unsigned)mark->shot.value);
    }
}

/* Of what is said to people in lines, the cautions about ratings go to the page, too; the rest
 * comes to it as messages of its own. */
void sh_live_front_say(void *context, const char *text)
{
    struct sh_live_page *page = context;
    const char *const cautions[] = {sh_rating_get_stop_caution(), sh_rating_get_ask_caution()};
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++) {
        if (strncmp(text, cautions[i], strlen(cautions[i])) == 0) {
            sh_live_tell_warning(page, "rating", cautions[i]);
        }
    }
}

enum sh_status sh_live_front_end(void *context,
                                 const struct sh_capture_recording *recording,
                                 struct sh_error *err)
{
    struct sh_live_page *page = context;
    (void)err;
    put_on_shelf(page);
    const unsigned id = page->id;
    sh_live_edit_end(page);
    set_current(page, 0);
    set_wave(page, NULL);
    sh_analysis_close(&page->shots);
    free(page->marks);
    page->marks = NULL;
    page->n_marks = 0;
    page->session = NULL;
    page->force = (struct sh_live_force){.is_present = false};
    if (id != 0 && recording->has_folder) {
        tell_event(page, id, "ended");
        sh_live_finisher_end(page->finisher, id, page->folder);
    }
    return SH_OK;
}
