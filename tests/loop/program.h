/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_PROGRAM_H
#define SH_TESTS_LOOP_PROGRAM_H

#include <stdbool.h>
#include <sys/types.h>

#include "recording/scratch.h"

/*
 * The real program, started by a test, with its voices in files of the test's folder. All fail
 * the running test where they cannot; a program that does not end within PROGRAM_LIMIT_S is
 * killed and fails it too.
 */

#define PROGRAM_LIMIT_S   60.0
#define PROGRAM_WORDS_MAX 40u

struct program {
    pid_t pid;
    int keys;      /* write end of its standard input; -1: it reads an empty one */
    long peak_kib; /* the most memory it held, known once it has ended */
    char out[SCRATCH_PATH_BYTES];
    char err[SCRATCH_PATH_BYTES];
};

struct program_config {
    const struct scratch *scratch;
    const char *name;         /* of the files its voices go to */
    const char *const *words; /* behind the program's name, NULL at the end */
    bool has_keys;            /* standard input is a pipe: type into it */
    const char *screen;       /* a terminal as standard input and standard error; NULL: none */
    const char *input;        /* a file as standard input; NULL: none */
    long file_max_bytes;      /* a longer file cannot be written, as on a full disk; 0: any */
    bool is_stranger;         /* run without privileges: as nobody, where the test is root */
};

void program_start(struct program *program, const struct program_config *config);

/* Types keys (has_keys), or closes the keyboard. */
void program_type(const struct program *program, const char *keys);
void program_close_keys(struct program *program);

/* Waits for the end: the exit status, or 128 + the signal that ended it. */
int program_wait(struct program *program);

/* Starts and waits in one, without keyboard. */
int program_run(struct program *program,
                const struct scratch *scratch,
                const char *name,
                const char *const *words);

/* What it has said so far; the caller frees it. */
char *program_read_out(const struct program *program);
char *program_read_err(const struct program *program);

/*
 * Runs it, which must end with status: gives what it said, data where that is 0, else words for
 * people, and then no data. The caller frees it. *program stays readable.
 */
char *program_get_said(struct program *program,
                       const struct scratch *scratch,
                       const char *const *words,
                       int status);

/* Waits until a file is there, or text stands in it. */
void program_await_file(const char *path);
void program_await_text(const char *path, const char *text);

void program_pause(double seconds);

#endif
