/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/query.h"
#include "app/shelf_inside.h"
#include "app/shot_sentence.h"
#include "app/wide_stack.h"
#include "live/number_text.h"
#include "live/session_document.h"
#include "live/shot_document.h"
#include "recording/recording_reader.h"
#include "recording/session_json.h"

#define RECORDINGS_PATH "/api/recordings/"
#define NUMBER_MAX      1000000ul
#define WAVE_POINTS     1500.0
#define TRIES           3

enum wanted {
    WANTED_NOTHING,
    WANTED_SHOTS,
    WANTED_TRACE,
    WANTED_SPECTRUM,
    WANTED_SESSION,
    WANTED_WAVE
};

/* One request. */
struct request {
    struct sh_shelf *shelf;
    const char *query;
    struct sh_text *text;
    enum wanted wanted;
    unsigned id;
    unsigned n; /* of the draw */
};

/* Reads a number at *path and goes on behind it; false where there is none. */
static bool take_number(const char **path, unsigned *number)
{
    char *end = NULL;
    if (**path < '1' || **path > '9') {
        return false;
    }
    unsigned long value = strtoul(*path, &end, 10);
    *path = end;
    *number = (unsigned)value;
    return value < NUMBER_MAX;
}

/* What comes behind "/api/recordings/". */
static void read_path(const char *path, struct request *request)
{
    if (!take_number(&path, &request->id)) {
        return;
    }
    if (strcmp(path, "/shots") == 0) {
        request->wanted = WANTED_SHOTS;
    } else if (strcmp(path, "/session") == 0) {
        request->wanted = WANTED_SESSION;
    } else if (strcmp(path, "/wave") == 0) {
        request->wanted = WANTED_WAVE;
    } else if (strncmp(path, "/shots/", 7) == 0) {
        path += 7;
        if (take_number(&path, &request->n)) {
            request->wanted = strcmp(path, "/trace") == 0      ? WANTED_TRACE
                              : strcmp(path, "/spectrum") == 0 ? WANTED_SPECTRUM
                                                               : WANTED_NOTHING;
        }
    }
}

/* What is copied out of a book, to be worked on without the lock. */
struct snapshot {
    char folder[SH_HOME_PATH_BYTES];
    bool is_running;
    unsigned long made;
    struct sh_analysis analysis;
    struct sh_session session;
    struct sh_shot_spectra *spectra; /* [n_spectra], room for all shots */
    size_t n_spectra;
};

static void close_snapshot(struct snapshot *snapshot)
{
    sh_analysis_close(&snapshot->analysis);
    sh_session_close(&snapshot->session);
    free(snapshot->spectra);
}

/* With the lock held. */
static enum sh_status copy_book(const struct sh_shelf_book *book, struct snapshot *out)
{
    enum sh_status status = sh_session_copy(&book->session, &out->session);
    memcpy(out->folder, book->folder, sizeof out->folder);
    out->is_running = book->is_running;
    out->made = book->made;
    sh_analysis_init(&out->analysis, book->name, book->athlete);
    for (size_t i = 0; i < book->analysis.n_shots && status == SH_OK; i++) {
        status = sh_analysis_add(&out->analysis, &book->analysis.shots[i]);
    }
    out->spectra = calloc(book->analysis.n_shots + 1, sizeof *out->spectra);
    if (out->spectra == NULL) {
        return SH_ERR_MEMORY;
    }
    if (book->n_spectra > 0) {
        memcpy(out->spectra, book->spectra, book->n_spectra * sizeof *out->spectra);
    }
    out->n_spectra = book->n_spectra;
    return status;
}

struct sh_shelf_book *sh_shelf_hold(struct sh_shelf *shelf, unsigned id, struct sh_error *err)
{
    for (int i = 0; i < TRIES; i++) {
        if (sh_shelf_load(shelf, id, err) != SH_OK) {
            return NULL;
        }
        (void)pthread_mutex_lock(&shelf->lock);
        struct sh_shelf_book *book = sh_shelf_find(shelf, id);
        if (book->has_analysis) {
            return book;
        }
        (void)pthread_mutex_unlock(&shelf->lock);
    }
    (void)sh_error_set(err, SH_ERR_BUSY, NULL, "ask again", "recording %u changes", id);
    return NULL;
}

/* *out is to be closed whatever comes back. */
static enum sh_status
take_snapshot(const struct request *request, struct snapshot *out, struct sh_error *err)
{
    *out = (struct snapshot){.n_spectra = 0};
    struct sh_shelf_book *book = sh_shelf_hold(request->shelf, request->id, err);
    if (book == NULL) {
        return err->status;
    }
    enum sh_status status = copy_book(book, out);
    (void)pthread_mutex_unlock(&request->shelf->lock);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    if (out->is_running) {
        /* marks and tags come while it runs */
        sh_session_close(&out->session);
        status = sh_session_json_read(out->folder, &out->session, NULL, err);
    }
    return status;
}

static enum sh_status answer_shots(const struct request *request, struct sh_error *err)
{
    struct snapshot snapshot;
    enum sh_status status = take_snapshot(request, &snapshot, err);
    if (status == SH_OK) {
        const struct sh_shot_document_list list = {.id = request->id,
                                                   .session = &snapshot.session,
                                                   .analysis = &snapshot.analysis,
                                                   .is_final = !snapshot.is_running,
                                                   .say = sh_shot_sentence_format};
        sh_shot_document_write_list(&list, request->text);
        status = request->text->status;
    }
    close_snapshot(&snapshot);
    return status;
}

/* Works out the spectra that are missing. */
static enum sh_status complete_spectra(struct snapshot *snapshot, struct sh_error *err)
{
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    if (snapshot->n_spectra >= snapshot->analysis.n_shots) {
        return SH_OK;
    }
    enum sh_status status = sh_recording_reader_open(snapshot->folder, &config, &reader, err);
    while (status == SH_OK && snapshot->n_spectra < snapshot->analysis.n_shots) {
        status = sh_shot_spectrum_find(reader, &snapshot->analysis.shots[snapshot->n_spectra],
                                       snapshot->is_running ? SH_TIMEBASE_FORWARD
                                                            : SH_TIMEBASE_BETWEEN,
                                       &snapshot->spectra[snapshot->n_spectra], err);
        snapshot->n_spectra += status == SH_OK ? 1 : 0;
    }
    sh_recording_reader_close(&reader);
    return status;
}

/* Keeps spectra with the book they are of, where it is still the same. */
static void keep_spectra(const struct request *request, struct snapshot *snapshot)
{
    (void)pthread_mutex_lock(&request->shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(request->shelf, request->id);
    if (book->has_analysis && book->made == snapshot->made &&
        book->is_running == snapshot->is_running &&
        book->analysis.n_shots >= snapshot->n_spectra &&
        book->n_spectra < snapshot->n_spectra) {
        free(book->spectra);
        book->spectra = snapshot->spectra;
        book->n_spectra = snapshot->n_spectra;
        snapshot->spectra = NULL;
    }
    (void)pthread_mutex_unlock(&request->shelf->lock);
}

static enum sh_status answer_session(const struct request *request, struct sh_error *err)
{
    struct snapshot snapshot;
    enum sh_status status = take_snapshot(request, &snapshot, err);
    if (status == SH_OK) {
        status = complete_spectra(&snapshot, err);
    }
    if (status == SH_OK) {
        const struct sh_session_document document = {.analysis = &snapshot.analysis,
                                                     .marks = snapshot.session.marks,
                                                     .n_marks = snapshot.session.n_marks,
                                                     .spectra = snapshot.spectra};
        status = sh_session_document_write(&document, request->text);
        keep_spectra(request, &snapshot);
    }
    close_snapshot(&snapshot);
    return status;
}

static enum sh_status
format_wave(const struct request *request, const struct sh_wave *wave, struct sh_error *err)
{
    struct sh_wave_window window;
    double end_s = sh_wave_get_end_s(wave);
    double from_s = sh_query_get_number(request->query, "from", 0.0);
    double until_s = sh_query_get_number(request->query, "to", end_s > 0.0 ? end_s : 1.0);
    size_t n_points = sh_query_get_count(request->query, "points", WAVE_POINTS);
    if (sh_wave_select(wave, from_s, until_s, n_points, &window) != SH_OK) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "wave",
                            "from before to, in seconds; points 1 to 8191",
                            "there is no such window");
    }
    sh_wave_format(wave, &window, request->id, request->text);
    return request->text->status;
}

/* Reads a book's course, without the lock, which is held before and behind. */
static enum sh_status
load_wave(const struct request *request, struct sh_shelf_book *book, struct sh_error *err)
{
    char folder[SH_HOME_PATH_BYTES];
    struct sh_shelf_wave *wave = NULL;
    memcpy(folder, book->folder, sizeof folder);
    (void)pthread_mutex_unlock(&request->shelf->lock);
    enum sh_status status = sh_shelf_read_wave(folder, &wave, err);
    (void)pthread_mutex_lock(&request->shelf->lock);
    if (status == SH_OK && book->wave == NULL) {
        book->wave = wave;
        wave = NULL;
        sh_shelf_trim(request->shelf);
    }
    sh_shelf_drop_wave(&wave);
    return status;
}

/* A book's course, held; NULL: see err. */
static struct sh_shelf_wave *hold_wave(const struct request *request, struct sh_error *err)
{
    struct sh_shelf_wave *wave = NULL;
    struct sh_shelf_book *book = sh_shelf_hold(request->shelf, request->id, err);
    enum sh_status status = SH_OK;
    if (book == NULL) {
        return NULL;
    }
    if (book->is_running) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, book->name, NULL,
                              "its course is not here while it runs");
    }
    for (int i = 0; i < TRIES && status == SH_OK && book->wave == NULL; i++) {
        status = load_wave(request, book, err);
    }
    wave = status == SH_OK ? book->wave : NULL;
    if (wave != NULL) {
        wave->n_holders++;
    } else if (status == SH_OK) {
        (void)sh_error_set(err, SH_ERR_BUSY, book->name, "ask again", "too many ask at once");
    }
    (void)pthread_mutex_unlock(&request->shelf->lock);
    return wave;
}

/* The lock is not held while it is written: whoever captures would wait for it. */
static enum sh_status answer_wave(const struct request *request, struct sh_error *err)
{
    struct sh_shelf_wave *wave = hold_wave(request, err);
    if (wave == NULL) {
        return err->status;
    }
    enum sh_status status = format_wave(request, wave->wave, err);
    (void)pthread_mutex_lock(&request->shelf->lock);
    sh_shelf_drop_wave(&wave);
    (void)pthread_mutex_unlock(&request->shelf->lock);
    return status;
}

static enum sh_status answer(const struct request *request, struct sh_error *err)
{
    const struct sh_shelf_close_up close_up = {
        .id = request->id,
        .n = request->n,
        .query = request->wanted == WANTED_TRACE ? request->query : NULL};
    switch (request->wanted) {
    case WANTED_SHOTS:
        return answer_shots(request, err);
    case WANTED_TRACE:
    case WANTED_SPECTRUM:
        return sh_shelf_write_close_up(request->shelf, &close_up, request->text, err);
    case WANTED_SESSION:
        return answer_session(request, err);
    case WANTED_WAVE:
        return answer_wave(request, err);
    case WANTED_NOTHING:
    default:
        return sh_error_set(err, SH_ERR_NOT_FOUND, NULL, NULL, "there is no such page");
    }
}

static int get_http(enum sh_status status)
{
    return status == SH_OK              ? 200
           : status == SH_ERR_NOT_FOUND ? 404
           : status == SH_ERR_ARGUMENT  ? 400
           : status == SH_ERR_BUSY      ? 503
                                        : 500;
}

/* In place of what was written before it failed. */
static void put_error(const struct sh_error *err, size_t n_before, struct sh_text *text)
{
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(err, line);
    text->status = SH_OK;
    text->n_bytes = n_before;
    sh_text_puts(text, "{\"error\":");
    sh_number_text_put_string(text, line[0] != '\0' ? line : "out of memory");
    sh_text_puts(text, "}");
}

/* One call, which wants more stack than the caller may have. */
struct call {
    struct sh_shelf *shelf;
    const char *path;
    struct request request;
    enum sh_status status;
    struct sh_error err;
};

static void run_call(void *context)
{
    struct call *call = context;
    if (strcmp(call->path, "/api/people") == 0) {
        call->status = sh_shelf_write_people(call->shelf, call->request.text, &call->err);
        return;
    }
    if (strncmp(call->path, RECORDINGS_PATH, strlen(RECORDINGS_PATH)) == 0) {
        read_path(call->path + strlen(RECORDINGS_PATH), &call->request);
    }
    call->status = answer(&call->request, &call->err);
}

int sh_shelf_answer(struct sh_shelf *shelf,
                    const char *path,
                    const char *query,
                    struct sh_text *text)
{
    struct call call = {.shelf = shelf,
                        .path = path,
                        .request = {.shelf = shelf, .query = query, .text = text}};
    size_t n_before = text->n_bytes;
    enum sh_status status = sh_wide_stack_run(run_call, &call);
    status = status == SH_OK ? call.status : status;
    if (status != SH_OK) {
        put_error(&call.err, n_before, text);
    }
    return get_http(status);
}
