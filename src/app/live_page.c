/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_page.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/live_clock.h"
#include "app/live_inside.h"
#include "app/query.h"
#include "live/people_document.h"
#include "series/round_format.h"

#define NS_PER_S       1e9
#define MS_PER_S       1e3
#define POINTS_DEFAULT 2000.0
#define COMMAND_S      0.05 /* from one command to the next: some write to the disk */

double sh_live_now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

static double get_cpu_s(clockid_t clock)
{
    struct timespec now = {0};
    (void)clock_gettime(clock, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

double sh_live_thread_s(const struct sh_live_page *page)
{
    return page->config.is_measured ? get_cpu_s(CLOCK_THREAD_CPUTIME_ID) : 0.0;
}

/* The server's callbacks: from its threads. */

static unsigned get_current(struct sh_live_page *page)
{
    (void)pthread_mutex_lock(&page->lock);
    const unsigned current = page->current;
    (void)pthread_mutex_unlock(&page->lock);
    return current;
}

static void put_goal(struct sh_live_page *page, struct sh_text *text)
{
    (void)pthread_mutex_lock(&page->lock);
    if (page->goal.is_set) {
        sh_text_puts(text, ",\"goal\":");
        sh_people_document_put_goal(page->goal.band.least_s, page->goal.band.most_s,
                                    page->goal.set_by, text);
    } else {
        sh_text_puts(text, ",\"goal\":null");
    }
    sh_text_printf(text, ",\"sound\":%s,\"in_charge\":%s", page->has_sound ? "true" : "false",
                   page->is_in_charge ? "true" : "false");
    (void)pthread_mutex_unlock(&page->lock);
}

static void put_hello(void *context, struct sh_text *text)
{
    struct sh_live_page *page = context;
    const unsigned current = get_current(page);
    sh_text_puts(text, ",\"mode\":\"live\"");
    sh_shelf_write_hello(page->shelf, current, text);
    put_goal(page, text);
    sh_live_clock_put_formats(page->config.setup, text);
    sh_live_choose_put_hello(page, text);
}

/* The wave of the recording that runs; false: it is the shelf's to answer. */
static bool is_wave(const char *path, unsigned current)
{
    char own[64];
    (void)snprintf(own, sizeof own, "/api/recordings/%u/wave", current);
    return current != 0 && strcmp(path, own) == 0;
}

static int
get_wave(struct sh_live_page *page, unsigned current, const char *query, struct sh_text *text)
{
    const double from_s = sh_query_get_number(query, "from", 0.0);
    const double until_s = sh_query_get_number(query, "to", (double)INFINITY);
    const double n_points = sh_query_get_number(query, "points", POINTS_DEFAULT);
    bool is_written = false;
    if (!(from_s >= 0.0 && until_s > from_s && n_points >= 1.0 && n_points <= 1e9)) {
        sh_text_puts(text, "{\"error\":\"the query: give from, to and points\"}");
        return 400;
    }
    (void)pthread_mutex_lock(&page->wave_lock);
    if (page->wave != NULL) {
        is_written =
            sh_live_wave_write(page->wave, from_s, until_s, (size_t)n_points, current, text);
    }
    (void)pthread_mutex_unlock(&page->wave_lock);
    return is_written ? 200 : 404;
}

static int get(void *context, const char *path, const char *query, struct sh_text *text)
{
    struct sh_live_page *page = context;
    const unsigned current = get_current(page);
    if (strcmp(path, "/api/sensors") == 0) {
        return sh_live_choose_answer(page, text);
    }
    return is_wave(path, current) ? get_wave(page, current, query, text)
                                  : sh_shelf_answer(page->shelf, path, query, text);
}

static void take_command(void *context, unsigned viewer, json_int_t id, const json_t *object)
{
    struct sh_live_page *page = context;
    (void)get_current(page); /* the server is known from then on */
    if (!sh_live_queue_put(&page->queue, viewer, id, object)) {
        sh_server_reply(page->server, viewer, id, "too much at once; wait a second");
    }
}

static void take_painted(void *context, double sample_ms)
{
    struct sh_live_page *page = context;
    (void)pthread_mutex_lock(&page->lock);
    struct sh_live_measures *measures = &page->measures;
    if (measures->n_painted < SH_LIVE_PAINTED_MAX) {
        measures->painted_ms[measures->n_painted++] = MS_PER_S * sh_live_now_s() - sample_ms;
    }
    (void)pthread_mutex_unlock(&page->lock);
}

static void say_code(void *context, const char *code)
{
    (void)context;
    (void)fprintf(stderr, "code for the page: %s\n", code);
}

/* Opening and closing: the main thread. */

static enum sh_status start(struct sh_live_page *page, struct sh_error *err)
{
    const struct sh_server_content content = {.hello = put_hello,
                                              .get = get,
                                              .command = take_command,
                                              .painted = page->config.is_measured ? take_painted
                                                                                  : NULL,
                                              .code = say_code,
                                              .context = page};
    (void)pthread_mutex_lock(&page->lock);
    enum sh_status status = sh_server_open(&page->config.server, &content, &page->server, err);
    (void)pthread_mutex_unlock(&page->lock);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_live_finisher_config config = {.shelf = page->shelf,
                                                   .server = page->server,
                                                   .thresholds =
                                                       &page->config.setup->thresholds,
                                                   .measured = sh_live_edit_take_measured,
                                                   .context = page};
    return sh_live_finisher_open(&config, &page->finisher, err);
}

enum sh_status sh_live_page_open(const struct sh_live_page_config *config,
                                 struct sh_live_page **out,
                                 struct sh_error *err)
{
    struct sh_live_page *page = calloc(1, sizeof *page);
    if (page == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    page->config = *config;
    page->released_s = (double)NAN;
    page->measures.begin_s = sh_live_now_s();
    page->hearing = "waiting";
    sh_live_sensors_init(&page->sensors);
    sh_live_sensors_begin(&page->sensors, config->setup, sh_live_now_s());
    (void)snprintf(page->sensors.athlete, sizeof page->sensors.athlete, "%s",
                   config->setup->session->athlete);
    (void)pthread_mutex_init(&page->lock, NULL);
    (void)pthread_mutex_init(&page->wave_lock, NULL);
    sh_live_queue_init(&page->queue);
    const struct sh_shelf_config shelf = {config->setup->home, config->setup->thresholds};
    enum sh_status status = sh_shelf_open(&shelf, &page->shelf, err);
    status = status == SH_OK ? start(page, err) : status;
    if (status != SH_OK) {
        (void)sh_live_page_close(&page, NULL);
        return status;
    }
    *out = page;
    return SH_OK;
}

enum sh_status sh_live_page_close(struct sh_live_page **page, struct sh_error *err)
{
    if (page == NULL || *page == NULL) {
        return SH_OK;
    }
    struct sh_live_page *closing = *page;
    enum sh_status status = sh_live_finisher_close(&closing->finisher, err);
    sh_server_close(&closing->server);
    sh_live_queue_close(&closing->queue);
    sh_live_wave_close(&closing->wave);
    sh_shelf_close(&closing->shelf);
    sh_analysis_close(&closing->shots);
    sh_live_draws_close(&closing->draws);
    sh_live_zeros_close(&closing->zeros);
    sh_remeasure_close(&closing->measured);
    free(closing->marks);
    (void)pthread_mutex_destroy(&closing->wave_lock);
    (void)pthread_mutex_destroy(&closing->lock);
    free(closing);
    *page = NULL;
    return status;
}

const struct sh_server *sh_live_page_get_server(const struct sh_live_page *page)
{
    return page->server;
}

/* Which recording a command names; the one that runs where it names none. */
static unsigned find_recording(const struct sh_live_page *page, const json_t *object)
{
    const json_int_t id = json_integer_value(json_object_get(object, "recording"));
    return id > 0 && id <= (json_int_t)SH_SHELF_RECORDINGS_MAX ? (unsigned)id : page->id;
}

static enum sh_status obey(struct sh_live_page *page,
                           struct sh_capture *capture,
                           struct sh_live_command *command,
                           struct sh_error *err)
{
    struct sh_error refused = {.status = SH_OK};
    char line[SH_ERROR_LINE_BYTES];
    const unsigned id = find_recording(page, command->object);
    if (id != page->id && sh_shelf_is_edit(command->object)) {
        if (!sh_live_finisher_edit(page->finisher, id, command)) {
            sh_server_reply(page->server, command->viewer, command->id,
                            "too much at once; wait a second");
        }
        return SH_OK;
    }
    if (sh_live_edit_is_edit(command->object)) {
        return sh_live_edit_run(page, capture, command, err);
    }
    enum sh_status status = sh_live_obey(page, capture, command->object, &refused, err);
    if (status != SH_OK) {
        return status;
    }
    sh_error_format(&refused, line);
    sh_server_reply(page->server, command->viewer, command->id,
                    refused.status == SH_OK ? NULL : line);
    return SH_OK;
}

/* One command a step at the most, so that whoever sends many does not keep the sensors waiting.
 */
static enum sh_status step(void *context, struct sh_capture *capture, struct sh_error *err)
{
    struct sh_live_page *page = context;
    struct sh_live_command command;
    enum sh_status status = SH_OK;
    const double before_s = sh_live_thread_s(page);
    const double now_s = sh_live_now_s();
    if (now_s >= page->command_s && sh_live_queue_find(&page->queue, &command)) {
        page->command_s = now_s + COMMAND_S;
        status = obey(page, capture, &command, err);
        sh_live_command_close(&command);
    }
    if (status == SH_OK) {
        status = sh_live_edit_step(page, capture, err);
    }
    if (status == SH_OK) {
        sh_live_tell_due(page, capture);
    }
    page->measures.front_s += sh_live_thread_s(page) - before_s;
    return status;
}

struct sh_capture_front sh_live_page_get_front(struct sh_live_page *page)
{
    return (struct sh_capture_front){.say = sh_live_front_say,
                                     .signal = sh_live_tell_signal,
                                     .begin = sh_live_front_begin,
                                     .block = sh_live_front_block,
                                     .shot = sh_live_front_shot,
                                     .mark = sh_live_front_mark,
                                     .end = sh_live_front_end,
                                     .idle = sh_live_front_idle,
                                     .step = step,
                                     .context = page};
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

void sh_live_page_say_measures(struct sh_live_page *page)
{
    (void)pthread_mutex_lock(&page->lock); /* pages still paint */
    struct sh_live_measures measures = page->measures;
    (void)pthread_mutex_unlock(&page->lock);
    const double passed_s = sh_live_now_s() - measures.begin_s;
    const double all_s = get_cpu_s(CLOCK_PROCESS_CPUTIME_ID);
    const double own_s = get_cpu_s(CLOCK_THREAD_CPUTIME_ID);
    const size_t n = measures.n_painted;
    if (!page->config.is_measured) {
        return;
    }
    (void)fprintf(stderr,
                  "measured: %.3f s passed; processor: this thread %.3f s (%.2f %%), "
                  "of it for the page %.3f s (%.2f %%); others %.3f s (%.2f %%)\n",
                  passed_s, own_s, 100.0 * own_s / passed_s, measures.front_s,
                  100.0 * measures.front_s / passed_s, all_s - own_s,
                  100.0 * (all_s - own_s) / passed_s);
    if (n > 0) {
        qsort(measures.painted_ms, n, sizeof(double), compare);
        (void)fprintf(stderr,
                      "measured: %zu releases painted; ms: median %.1f, 95 %% %.1f, "
                      "largest %.1f\n",
                      n, measures.painted_ms[n / 2], measures.painted_ms[(n * 95 - 1) / 100],
                      measures.painted_ms[n - 1]);
    }
}
