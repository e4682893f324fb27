/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SHELF_INSIDE_H
#define SH_APP_SHELF_INSIDE_H

#include <pthread.h>

#include "app/home.h"
#include "app/shelf.h"
#include "live/shot_spectrum.h"
#include "live/wave.h"
#include "recording/session.h"

/* What the shelf's own files share; nothing else looks inside. */

/* A course that several may read at once; the last of them frees it. */
struct sh_shelf_wave {
    struct sh_wave *wave; /* owned */
    size_t n_holders;
};

struct sh_shelf_book {
    char folder[SH_HOME_PATH_BYTES];
    char name[SH_SESSION_FILE_BYTES];
    char athlete[SH_SESSION_NAME_BYTES];
    char started[SH_SESSION_NAME_BYTES];
    size_t n_shots; /* as known so far */
    bool is_running;
    bool has_analysis;
    bool is_loading; /* somebody reads or works out its analysis */
    unsigned long
        made; /* the shelf's count when the analysis came here, or a shot was replaced */
    unsigned long used; /* when it was asked for last: the shelf's count of uses */
    struct sh_analysis analysis;
    struct sh_session session;       /* read with the analysis; of a running one at its begin */
    struct sh_shot_spectra *spectra; /* owned, [n_spectra]: of the first shots */
    size_t n_spectra;
    struct sh_shelf_wave *wave; /* held; NULL: not read */
};

struct sh_shelf {
    char home[SH_HOME_PATH_BYTES]; /* "": none */
    struct sh_thresholds thresholds;
    pthread_mutex_t lock;         /* of all below */
    pthread_cond_t has_loaded;    /* somebody's is_loading has ended */
    pthread_mutex_t edit_lock;    /* one edit at a time; taken before lock */
    struct sh_shelf_book **books; /* owned, [n_books]; number i + 1 */
    size_t n_books;
    unsigned long n_uses;
};

/* The book of a number, or NULL. With the lock held. */
struct sh_shelf_book *sh_shelf_find(struct sh_shelf *shelf, unsigned id);

/* Copies a book's folder; false: no such number. Takes the lock. */
bool sh_shelf_copy_folder(struct sh_shelf *shelf, unsigned id, char folder[SH_HOME_PATH_BYTES]);

/* Puts an analysis and a session in place of a book's own (takes both), and lets the oldest of
 * others go. With the lock held. */
void sh_shelf_install(struct sh_shelf *shelf,
                      struct sh_shelf_book *book,
                      struct sh_analysis *analysis,
                      struct sh_session *session);

/* Lets the analyses and the courses go that were asked for longest ago, beyond what is kept.
 * With the lock held. */
void sh_shelf_trim(struct sh_shelf *shelf);

/* A shot of a book's analysis by its number; NULL: none. With the lock held. */
const struct sh_shot_record *sh_shelf_find_shot(const struct sh_shelf_book *book, unsigned n);

/* The whole course of a recording's samples, as frames of all its streams' channels, held once.
 * Statuses of sh_recording_reader_push. */
enum sh_status
sh_shelf_read_wave(const char *folder, struct sh_shelf_wave **out, struct sh_error *err);

/* Gives up a course and sets *wave to NULL; takes NULL inside. With the lock held. */
void sh_shelf_drop_wave(struct sh_shelf_wave **wave);

/* Appends the people that are known (docs/live.md). Statuses of the index and the files. */
enum sh_status
sh_shelf_write_people(struct sh_shelf *shelf, struct sh_text *text, struct sh_error *err);

/* Loads a book's analysis and gives the book with the lock held; NULL, and the lock free, where
 * that fails: see err. */
struct sh_shelf_book *sh_shelf_hold(struct sh_shelf *shelf, unsigned id, struct sh_error *err);

/* One shot as it is looked at closely. */
struct sh_shelf_close_up {
    unsigned id; /* of its recording */
    unsigned n;
    const char *query; /* what of its traces; NULL: its spectra */
};

/* Appends a shot's traces or spectra (docs/live.md), out of the files. SH_ERR_NOT_FOUND: no
 * such shot; statuses of sh_trace_document_write and sh_shot_spectrum_find. */
enum sh_status sh_shelf_write_close_up(struct sh_shelf *shelf,
                                       const struct sh_shelf_close_up *wanted,
                                       struct sh_text *text,
                                       struct sh_error *err);

#endif
