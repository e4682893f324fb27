/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/program.h"

#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define NOBODY     65534 /* Debian's */
#define SLICE_S    0.01
#define CANNOT_RUN 99 /* exit status of a child that never became the program */
#define NS_PER_S   1e9

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

void program_pause(double seconds)
{
    struct timespec pause = {.tv_sec = (time_t)seconds};
    pause.tv_nsec = (long)((seconds - (double)pause.tv_sec) * NS_PER_S);
    while (nanosleep(&pause, &pause) != 0 && errno == EINTR) {
    }
}

/* In the child: puts the ends in their places and becomes the program. Does not return. */
static void
become(const struct program_config *config, const struct program *program, int input, int exe)
{
    static char name[] = "stringhand";
    extern char **environ;
    char *argv[PROGRAM_WORDS_MAX + 2] = {name};
    for (size_t i = 0; config->words[i] != NULL && i < PROGRAM_WORDS_MAX; i++) {
        memcpy(&argv[i + 1], &config->words[i], sizeof config->words[i]);
    }
    int out = open(program->out, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    int err = open(program->err, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (config->screen != NULL) {
        /* of a session of its own, so that Ctrl-C typed there interrupts the program alone */
        (void)setsid();
        err = open(config->screen, O_RDWR);
        input = err;
    }
    bool is_ready = out >= 0 && err >= 0 && dup2(input, STDIN_FILENO) >= 0 &&
                    dup2(out, STDOUT_FILENO) >= 0 && dup2(err, STDERR_FILENO) >= 0;
    if (is_ready && config->is_stranger && geteuid() == 0) {
        is_ready = setgroups(0, NULL) == 0 && setgid(NOBODY) == 0 && setuid(NOBODY) == 0;
    }
    if (is_ready && config->file_max_bytes > 0) {
        const struct rlimit limit = {(rlim_t)config->file_max_bytes,
                                     (rlim_t)config->file_max_bytes};
        /* ignored signals stay ignored in the program: its write fails instead */
        is_ready = setrlimit(RLIMIT_FSIZE, &limit) == 0 && signal(SIGXFSZ, SIG_IGN) != SIG_ERR;
    }
    if (is_ready) {
        /* by its descriptor: the way to it may be closed to nobody */
        (void)fexecve(exe, argv, environ);
    }
    _exit(CANNOT_RUN);
}

/* What an earlier run said must not be read as this one's; a link is the test's own wish. */
static void remove_old(const char *path)
{
    struct stat file;
    if (lstat(path, &file) == 0 && S_ISREG(file.st_mode)) {
        (void)unlink(path);
    }
}

void program_start(struct program *program, const struct program_config *config)
{
    char name[64];
    int ends[2] = {-1, -1};
    (void)snprintf(name, sizeof name, "%s.out", config->name);
    scratch_path(config->scratch, name, program->out);
    (void)snprintf(name, sizeof name, "%s.err", config->name);
    scratch_path(config->scratch, name, program->err);
    remove_old(program->out);
    remove_old(program->err);
    int exe = open(STRINGHAND_PROGRAM, O_RDONLY | O_CLOEXEC);
    if (exe < 0) {
        fail_msg("cannot open %s: build the target stringhand", STRINGHAND_PROGRAM);
    }
    if (config->has_keys) {
        assert_int_equal(pipe(ends), 0);
        assert_int_equal(fcntl(ends[1], F_SETFD, FD_CLOEXEC), 0);
    } else {
        ends[0] = open(config->input != NULL ? config->input : "/dev/null", O_RDONLY);
    }
    assert_true(ends[0] >= 0);
    program->keys = ends[1];
    program->pid = fork();
    assert_true(program->pid >= 0);
    if (program->pid == 0) {
        become(config, program, ends[0], exe);
    }
    (void)close(ends[0]);
    (void)close(exe);
}

void program_type(const struct program *program, const char *keys)
{
    size_t n_bytes = strlen(keys);
    assert_int_equal(write(program->keys, keys, n_bytes), n_bytes);
}

void program_close_keys(struct program *program)
{
    if (program->keys >= 0) {
        (void)close(program->keys);
        program->keys = -1;
    }
}

int program_wait(struct program *program)
{
    int how = 0;
    double until_s = now_s() + PROGRAM_LIMIT_S;
    pid_t ended = 0;
    struct rusage used = {0};
    while ((ended = wait4(program->pid, &how, WNOHANG, &used)) == 0 && now_s() < until_s) {
        program_pause(SLICE_S);
    }
    program_close_keys(program);
    if (ended == 0) {
        (void)kill(program->pid, SIGKILL);
        (void)waitpid(program->pid, &how, 0);
        fail_msg("did not end within %.0f s; it said: %s", PROGRAM_LIMIT_S,
                 program_read_err(program));
    }
    assert_int_equal(ended, program->pid);
    program->peak_kib = used.ru_maxrss;
    int status = WIFEXITED(how) ? WEXITSTATUS(how) : 128 + WTERMSIG(how);
    if (status == CANNOT_RUN) {
        fail_msg("cannot run %s", STRINGHAND_PROGRAM);
    }
    return status;
}

int program_run(struct program *program,
                const struct scratch *scratch,
                const char *name,
                const char *const *words)
{
    const struct program_config config = {.scratch = scratch, .name = name, .words = words};
    program_start(program, &config);
    return program_wait(program);
}

char *program_read_out(const struct program *program)
{
    return scratch_read(program->out, NULL);
}

char *program_read_err(const struct program *program)
{
    return scratch_read(program->err, NULL);
}

char *program_get_said(struct program *program,
                       const struct scratch *scratch,
                       const char *const *words,
                       int status)
{
    const int got = program_run(program, scratch, "run", words);
    char *out = program_read_out(program);
    char *err = program_read_err(program);
    if (got != status) {
        fail_msg("status %d: %s%s", got, out, err);
    }
    if (status != 0) {
        assert_string_equal(out, "");
    }
    free(status == 0 ? err : out);
    return status == 0 ? out : err;
}

void program_await_file(const char *path)
{
    double until_s = now_s() + PROGRAM_LIMIT_S;
    while (!scratch_exists(path)) {
        if (now_s() >= until_s) {
            fail_msg("%s did not come", path);
        }
        program_pause(SLICE_S);
    }
}

void program_await_text(const char *path, const char *text)
{
    double until_s = now_s() + PROGRAM_LIMIT_S;
    bool is_there = false;
    program_await_file(path);
    while (!is_there) {
        char *bytes = scratch_read(path, NULL);
        is_there = strstr(bytes, text) != NULL;
        free(bytes);
        if (!is_there && now_s() >= until_s) {
            fail_msg("'%s' did not come in %s", text, path);
        }
        program_pause(SLICE_S);
    }
}
