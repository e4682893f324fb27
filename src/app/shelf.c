/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "app/shelf_inside.h"
#include "app/wide_stack.h"
#include "live/number_text.h"
#include "recording/session_json.h"

#define WAVES_KEPT 2u

static void let_analysis_go(struct sh_shelf_book *book)
{
    sh_analysis_close(&book->analysis);
    sh_session_close(&book->session);
    free(book->spectra);
    book->spectra = NULL;
    book->n_spectra = 0;
    book->has_analysis = false;
}

enum sh_status
sh_shelf_open(const struct sh_shelf_config *config, struct sh_shelf **out, struct sh_error *err)
{
    const char *home = config->home != NULL ? config->home : "";
    if (strlen(home) >= SH_HOME_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_ARGUMENT, home, NULL, "the path is too long");
    }
    struct sh_shelf *shelf = calloc(1, sizeof *shelf);
    if (shelf == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    memcpy(shelf->home, home, strlen(home) + 1);
    shelf->thresholds = config->thresholds;
    (void)pthread_mutex_init(&shelf->lock, NULL);
    (void)pthread_mutex_init(&shelf->edit_lock, NULL);
    (void)pthread_cond_init(&shelf->has_loaded, NULL);
    *out = shelf;
    return SH_OK;
}

void sh_shelf_close(struct sh_shelf **shelf)
{
    if (shelf == NULL || *shelf == NULL) {
        return;
    }
    for (size_t i = 0; i < (*shelf)->n_books; i++) {
        let_analysis_go((*shelf)->books[i]);
        sh_shelf_drop_wave(&(*shelf)->books[i]->wave);
        free((*shelf)->books[i]);
    }
    free((*shelf)->books);
    (void)pthread_cond_destroy(&(*shelf)->has_loaded);
    (void)pthread_mutex_destroy(&(*shelf)->lock);
    (void)pthread_mutex_destroy(&(*shelf)->edit_lock);
    free(*shelf);
    *shelf = NULL;
}

struct sh_shelf_book *sh_shelf_find(struct sh_shelf *shelf, unsigned id)
{
    return id >= 1 && id <= shelf->n_books ? shelf->books[id - 1] : NULL;
}

bool sh_shelf_copy_folder(struct sh_shelf *shelf, unsigned id, char folder[SH_HOME_PATH_BYTES])
{
    (void)pthread_mutex_lock(&shelf->lock);
    const struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL) {
        memcpy(folder, book->folder, SH_HOME_PATH_BYTES);
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return book != NULL;
}

const struct sh_shot_record *sh_shelf_find_shot(const struct sh_shelf_book *book, unsigned n)
{
    for (size_t i = 0; i < book->analysis.n_shots; i++) {
        if (book->analysis.shots[i].shot.n == n) {
            return &book->analysis.shots[i];
        }
    }
    return NULL;
}

/* Makes a book of what recording.json says. */
static enum sh_status
make_book(const char *folder, struct sh_shelf_book **out, struct sh_error *err)
{
    if (strlen(folder) >= SH_HOME_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
    }
    struct sh_shelf_book *book = calloc(1, sizeof *book);
    if (book == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    enum sh_status status = sh_session_json_read(folder, &book->session, NULL, err);
    if (status != SH_OK) {
        free(book);
        return status;
    }
    memcpy(book->folder, folder, strlen(folder) + 1);
    sh_home_copy_name(folder, book->name, sizeof book->name);
    memcpy(book->athlete, book->session.athlete, sizeof book->athlete);
    memcpy(book->started, book->session.started, sizeof book->started);
    *out = book;
    return SH_OK;
}

/* With the lock held; takes book. */
static enum sh_status
put_book(struct sh_shelf *shelf, struct sh_shelf_book *book, struct sh_error *err)
{
    enum sh_status status = SH_ERR_FULL;
    if (shelf->n_books < SH_SHELF_RECORDINGS_MAX) {
        struct sh_shelf_book **grown =
            realloc(shelf->books, (shelf->n_books + 1) * sizeof(struct sh_shelf_book *));
        status = grown != NULL ? SH_OK : SH_ERR_MEMORY;
        shelf->books = grown != NULL ? grown : shelf->books;
    }
    if (status == SH_OK) {
        shelf->books[shelf->n_books++] = book;
        return SH_OK;
    }
    let_analysis_go(book);
    free(book);
    return sh_error_set(err, status, NULL, "name fewer recordings", "too many recordings");
}

/* The number of a folder; 0: it is not there. With the lock held. */
static unsigned find_folder(const struct sh_shelf *shelf, const char *folder)
{
    for (size_t i = 0; i < shelf->n_books; i++) {
        if (strcmp(shelf->books[i]->folder, folder) == 0) {
            return (unsigned)i + 1;
        }
    }
    return 0;
}

/* Puts a book that was made (taken) on the shelf, unless its folder is there meanwhile. */
static enum sh_status place_book(struct sh_shelf *shelf,
                                 struct sh_shelf_book *book,
                                 unsigned *id,
                                 struct sh_error *err)
{
    enum sh_status status = SH_OK;
    (void)pthread_mutex_lock(&shelf->lock);
    *id = find_folder(shelf, book->folder);
    if (*id != 0) {
        let_analysis_go(book);
        free(book);
    } else {
        status = put_book(shelf, book, err);
        *id = (unsigned)shelf->n_books;
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return status;
}

static enum sh_status add_book(struct sh_shelf *shelf,
                               const char *folder,
                               bool is_running,
                               unsigned *id,
                               struct sh_error *err)
{
    struct sh_shelf_book *book = NULL;
    (void)pthread_mutex_lock(&shelf->lock);
    *id = find_folder(shelf, folder);
    (void)pthread_mutex_unlock(&shelf->lock);
    if (*id != 0) {
        return SH_OK;
    }
    enum sh_status status = make_book(folder, &book, err);
    if (status != SH_OK || book == NULL) {
        return status;
    }
    book->is_running = is_running;
    book->has_analysis = is_running;
    if (is_running) {
        sh_analysis_init(&book->analysis, book->name, book->athlete);
    } else {
        sh_session_close(&book->session);
    }
    return place_book(shelf, book, id, err);
}

enum sh_status
sh_shelf_add(struct sh_shelf *shelf, const char *folder, unsigned *id, struct sh_error *err)
{
    return add_book(shelf, folder, false, id, err);
}

enum sh_status
sh_shelf_begin(struct sh_shelf *shelf, const char *folder, unsigned *id, struct sh_error *err)
{
    return add_book(shelf, folder, true, id, err);
}

enum sh_status
sh_shelf_put_shot(struct sh_shelf *shelf, unsigned id, const struct sh_shot_record *record)
{
    enum sh_status status = SH_ERR_NOT_FOUND;
    (void)pthread_mutex_lock(&shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL && book->is_running) {
        status = sh_analysis_add(&book->analysis, record);
        book->n_shots = book->analysis.n_shots;
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return status;
}

/* Its spectra, and those behind, are to be found anew. With the lock held. */
static void let_spectra_go(struct sh_shelf *shelf, struct sh_shelf_book *book, unsigned n)
{
    size_t i = 0;
    while (i < book->n_spectra && book->analysis.shots[i].shot.n != n) {
        i++;
    }
    book->n_spectra = i;
    book->made = ++shelf->n_uses; /* what is being found for the book as it was is not kept */
}

enum sh_status
sh_shelf_replace_shot(struct sh_shelf *shelf, unsigned id, const struct sh_shot_record *record)
{
    enum sh_status status = SH_ERR_NOT_FOUND;
    (void)pthread_mutex_lock(&shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL && book->is_running) {
        status = sh_analysis_replace(&book->analysis, record);
    }
    if (status == SH_OK) {
        let_spectra_go(shelf, book, record->shot.n);
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return status;
}

void sh_shelf_end(struct sh_shelf *shelf, unsigned id)
{
    (void)pthread_mutex_lock(&shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL && book->is_running) {
        let_analysis_go(book);
        book->is_running = false;
    }
    (void)pthread_mutex_unlock(&shelf->lock);
}

size_t sh_shelf_count(struct sh_shelf *shelf)
{
    (void)pthread_mutex_lock(&shelf->lock);
    size_t n = shelf->n_books;
    (void)pthread_mutex_unlock(&shelf->lock);
    return n;
}

unsigned sh_shelf_get_latest(struct sh_shelf *shelf)
{
    unsigned latest = 0;
    (void)pthread_mutex_lock(&shelf->lock);
    for (size_t i = 0; i < shelf->n_books; i++) {
        if (latest == 0 ||
            strcmp(shelf->books[i]->started, shelf->books[latest - 1]->started) >= 0) {
            latest = (unsigned)i + 1;
        }
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return latest;
}

/* The book of which an analysis (is_wave: a course) is kept that was asked for longest ago, and
 * how many there are. */
static struct sh_shelf_book *find_oldest(const struct sh_shelf *shelf, bool is_wave, size_t *n)
{
    struct sh_shelf_book *oldest = NULL;
    *n = 0;
    for (size_t i = 0; i < shelf->n_books; i++) {
        struct sh_shelf_book *book = shelf->books[i];
        bool is_kept = is_wave ? book->wave != NULL : book->has_analysis && !book->is_running;
        *n += is_kept ? 1 : 0;
        oldest = is_kept && (oldest == NULL || book->used < oldest->used) ? book : oldest;
    }
    return oldest;
}

void sh_shelf_trim(struct sh_shelf *shelf)
{
    size_t n = 0;
    struct sh_shelf_book *oldest = find_oldest(shelf, false, &n);
    while (oldest != NULL && n > SH_SHELF_KEPT_MAX) {
        let_analysis_go(oldest);
        oldest = find_oldest(shelf, false, &n);
    }
    oldest = find_oldest(shelf, true, &n);
    while (oldest != NULL && n > WAVES_KEPT) {
        sh_shelf_drop_wave(&oldest->wave);
        oldest = find_oldest(shelf, true, &n);
    }
}

void sh_shelf_install(struct sh_shelf *shelf,
                      struct sh_shelf_book *book,
                      struct sh_analysis *analysis,
                      struct sh_session *session)
{
    let_analysis_go(book);
    book->analysis = *analysis;
    book->session = *session;
    *analysis = (struct sh_analysis){.n_shots = 0};
    *session = (struct sh_session){.n_streams = 0};
    book->has_analysis = true;
    book->n_shots = book->analysis.n_shots;
    book->used = ++shelf->n_uses;
    book->made = book->used;
    sh_shelf_trim(shelf);
}

/* What a book is to be filled with, without the lock; wants much stack. */
static enum sh_status load(struct sh_shelf *shelf, unsigned id, struct sh_error *err)
{
    char folder[SH_HOME_PATH_BYTES];
    struct sh_analysis analysis = {.n_shots = 0};
    struct sh_session session = {.n_streams = 0};
    if (!sh_shelf_copy_folder(shelf, id, folder)) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, NULL, NULL, "there is no recording %u", id);
    }
    bool is_fresh = sh_analysis_store_is_fresh(folder);
    enum sh_status status = sh_session_json_read(folder, &session, NULL, err);
    if (status == SH_OK) {
        status = sh_analysis_store_get(folder, &shelf->thresholds, &analysis, err);
    }
    if (status == SH_OK && !is_fresh) {
        /* a place that cannot be written to only costs the time again */
        struct sh_error unwritten = {.status = SH_OK};
        (void)sh_analysis_store_write(folder, &analysis, &unwritten);
    }
    if (status == SH_OK) {
        (void)pthread_mutex_lock(&shelf->lock);
        struct sh_shelf_book *book = sh_shelf_find(shelf, id);
        if (!book->has_analysis) {
            sh_shelf_install(shelf, book, &analysis, &session);
        }
        (void)pthread_mutex_unlock(&shelf->lock);
    }
    sh_analysis_close(&analysis);
    sh_session_close(&session);
    return status;
}

/* A book to be loaded. */
struct loading {
    struct sh_shelf *shelf;
    unsigned id;
    struct sh_error *err;
    enum sh_status status;
};

static void run_loading(void *context)
{
    struct loading *loading = context;
    loading->status = load(loading->shelf, loading->id, loading->err);
}

/* Waits while somebody else loads it; false: it is the caller's to load, who ends that. */
static bool is_there(struct sh_shelf *shelf, unsigned id)
{
    bool is_ready = false;
    (void)pthread_mutex_lock(&shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    while (book != NULL && !book->has_analysis && book->is_loading) {
        (void)pthread_cond_wait(&shelf->has_loaded, &shelf->lock);
    }
    if (book != NULL && book->has_analysis) {
        book->used = ++shelf->n_uses;
        is_ready = true;
    } else if (book != NULL) {
        book->is_loading = true;
    }
    (void)pthread_mutex_unlock(&shelf->lock);
    return is_ready;
}

static void end_loading(struct sh_shelf *shelf, unsigned id)
{
    (void)pthread_mutex_lock(&shelf->lock);
    struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL) {
        book->is_loading = false;
        (void)pthread_cond_broadcast(&shelf->has_loaded);
    }
    (void)pthread_mutex_unlock(&shelf->lock);
}

enum sh_status sh_shelf_load(struct sh_shelf *shelf, unsigned id, struct sh_error *err)
{
    if (is_there(shelf, id)) {
        return SH_OK;
    }
    struct loading loading = {.shelf = shelf, .id = id, .err = err};
    enum sh_status status = sh_wide_stack_run(run_loading, &loading);
    end_loading(shelf, id);
    return status == SH_OK ? loading.status
                           : sh_error_set(err, status, NULL, "try again", "out of memory");
}

void sh_shelf_write_event(struct sh_shelf *shelf,
                          unsigned id,
                          const char *event,
                          struct sh_text *text)
{
    (void)pthread_mutex_lock(&shelf->lock);
    const struct sh_shelf_book *book = sh_shelf_find(shelf, id);
    if (book != NULL) {
        sh_text_printf(text, "{\"type\":\"recording\",\"id\":%u,\"name\":", id);
        sh_number_text_put_string(text, book->name);
        sh_text_puts(text, ",\"athlete\":");
        sh_number_text_put_string(text, book->athlete);
        sh_text_printf(text, ",\"event\":\"%s\"}", event);
    }
    (void)pthread_mutex_unlock(&shelf->lock);
}
