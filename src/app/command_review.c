/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <pthread.h>
#include <signal.h>
#include <stdio.h>

#include "app/commands.h"
#include "app/home.h"
#include "app/page_address.h"
#include "app/recording_list.h"
#include "app/say.h"
#include "app/shelf.h"
#include "live/server.h"

#define ROOTS_MAX 100u

static const struct sh_command_option options[] = {
    {"http-port", "N", "where the page is served; 0 (default): any port that is free", 0},
    {"listen", NULL, "open the page to the local network, with a code", 0},
    {"no-browser", NULL, "only print the address", 0},
    {"thresholds", "FILE", "thresholds of the findings, see docs/findings.md", 0},
    {"home", "FOLDER", "where people's files and the index lie", 0},
};

/* What the server's threads need. */
struct review {
    struct sh_shelf *shelf;
    unsigned current;
    pthread_mutex_t opening; /* held until server is known */
    struct sh_server *server;
};

static void write_hello(void *context, struct sh_text *text)
{
    const struct review *review = context;
    sh_text_puts(text, ",\"mode\":\"review\"");
    sh_shelf_write_hello(review->shelf, review->current, text);
    sh_text_puts(text, ",\"goal\":null,\"sound\":false,\"in_charge\":false,\"formats\":[],"
                       "\"rounds\":[],\"error\":null,\"athlete\":\"\",\"is_idle\":false");
}

static int answer(void *context, const char *path, const char *query, struct sh_text *text)
{
    const struct review *review = context;
    return sh_shelf_answer(review->shelf, path, query, text);
}

/* The recording that a command is about, 0 where it is none. */
static unsigned find_recording(const struct review *review, const json_t *object)
{
    const json_t *value = json_object_get(object, "recording");
    if (value == NULL || json_is_null(value)) {
        return review->current;
    }
    json_int_t id = json_integer_value(value);
    return id > 0 && id <= SH_SHELF_RECORDINGS_MAX ? (unsigned)id : 0;
}

static enum sh_status
obey(const struct review *review, unsigned id, const json_t *object, struct sh_error *err)
{
    if (!sh_shelf_is_edit(object)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, NULL, "start 'stringhand live' for it",
                            "finished recordings are looked at here");
    }
    return sh_shelf_edit(review->shelf, id, object, err);
}

static void
take_command(void *context, unsigned viewer, json_int_t number, const json_t *object)
{
    struct review *review = context;
    struct sh_error err = {.status = SH_OK};
    char line[SH_ERROR_LINE_BYTES];
    unsigned id = find_recording(review, object);
    struct sh_text text;
    (void)pthread_mutex_lock(&review->opening); /* waits until the server is known */
    (void)pthread_mutex_unlock(&review->opening);
    if (obey(review, id, object, &err) != SH_OK) {
        sh_error_format(&err, line);
        sh_server_reply(review->server, viewer, number, line);
        return;
    }
    sh_server_reply(review->server, viewer, number, NULL);
    sh_text_init(&text, 0);
    sh_shelf_write_event(review->shelf, id, "final", &text);
    if (text.status == SH_OK && text.data != NULL) {
        (void)sh_server_tell(review->server, SH_ROOM_LOGGED, text.data);
    }
    sh_text_close(&text);
}

static void say_code(void *context, const char *code)
{
    (void)context;
    (void)fprintf(stderr, "code for the page: %s\n", code);
}

/* Puts all recordings below the folders on the shelf, and reads the latest. */
static enum sh_status
fill_shelf(const struct sh_command_line *line, struct review *review, struct sh_error *err)
{
    struct sh_recording_list list = {.n = 0};
    enum sh_status status = SH_OK;
    unsigned id = 0;
    for (size_t i = 0; i < line->n_operands && status == SH_OK; i++) {
        status = sh_recording_list_add(&list, line->operands[i], err);
    }
    sh_recording_list_settle(&list);
    if (status == SH_OK && list.n == 0) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, line->operands[0],
                              "name a folder that holds a recording.json, or one above it",
                              "there is no recording");
    }
    for (size_t i = 0; i < list.n && status == SH_OK; i++) {
        status = sh_shelf_add(review->shelf, list.folder[i], &id, err);
    }
    sh_recording_list_close(&list);
    review->current = sh_shelf_get_latest(review->shelf);
    return status == SH_OK ? sh_shelf_load(review->shelf, review->current, err) : status;
}

/* Serves until a signal asks for the end. Signals wait meanwhile, in all threads. */
static enum sh_status serve(struct review *review,
                            const struct sh_server_config *config,
                            bool is_shown,
                            struct sh_error *err)
{
    const struct sh_server_content content = {.hello = write_hello,
                                              .get = answer,
                                              .command = take_command,
                                              .code = say_code,
                                              .context = review};
    sigset_t ends;
    int number = 0;
    (void)sigemptyset(&ends);
    (void)sigaddset(&ends, SIGINT);
    (void)sigaddset(&ends, SIGTERM);
    (void)sigaddset(&ends, SIGHUP);
    (void)pthread_sigmask(SIG_BLOCK, &ends, NULL);
    (void)pthread_mutex_lock(&review->opening);
    enum sh_status status = sh_server_open(config, &content, &review->server, err);
    (void)pthread_mutex_unlock(&review->opening);
    if (status == SH_OK) {
        sh_page_address_say(review->server, config->is_open, is_shown);
        (void)fprintf(stderr, "The page is served until Ctrl-C.\n");
        (void)sigwait(&ends, &number);
    }
    sh_server_close(&review->server);
    return status;
}

/* Everything but the words: what they say is in config and shelf. */
static enum sh_status review_all(const struct sh_command_line *line,
                                 const struct sh_shelf_config *shelf,
                                 const struct sh_server_config *config,
                                 bool is_shown,
                                 struct sh_error *err)
{
    struct review review = {.shelf = NULL};
    enum sh_status status = sh_shelf_open(shelf, &review.shelf, err);
    if (status != SH_OK) {
        return status;
    }
    (void)pthread_mutex_init(&review.opening, NULL);
    status = fill_shelf(line, &review, err);
    if (status == SH_OK) {
        status = serve(&review, config, is_shown, err);
    }
    (void)pthread_mutex_destroy(&review.opening);
    sh_shelf_close(&review.shelf);
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {.status = SH_OK};
    struct sh_server_config config = {.port = 0};
    struct sh_shelf_config shelf = {.home = home, .thresholds = sh_thresholds_default()};
    const char *thresholds = sh_command_get(command, line, "thresholds", NULL);
    config.is_open = sh_command_get(command, line, "listen", NULL) != NULL;
    bool is_shown = sh_command_get(command, line, "no-browser", NULL) == NULL;
    const char *port = sh_command_get(command, line, "http-port", "0");
    if (sh_page_address_read_port("review --http-port", port, &config, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    enum sh_status status =
        thresholds != NULL ? sh_thresholds_read(thresholds, &shelf.thresholds, &err) : SH_OK;
    if (status == SH_OK) {
        status = sh_home_find(sh_command_get(command, line, "home", NULL), home, &err);
    }
    if (status == SH_OK) {
        status = review_all(line, &shelf, &config, is_shown, &err);
    }
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

const struct sh_command sh_command_review = {
    .name = "review",
    .operands = "FOLDER...",
    .summary = "Go through finished recordings on a page in the browser.",
    .details =
        "The page's address is printed and, where there is a desktop, opened. It can be read "
        "on\n"
        "this machine only, unless --listen opens it to the local network: then whoever has "
        "the\n"
        "code that is shown here can read it, and it is sent as plain text. Scores, notes and\n"
        "corrections made there are marks in recording.json. Ctrl-C ends it.",
    .n_operands_min = 1,
    .n_operands_max = ROOTS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
