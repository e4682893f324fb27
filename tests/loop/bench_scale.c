/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/bench_scale.h"

#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define SLICE_S   0.01
#define PERIOD_US 2000ul /* of BENCH_SCALE_RATE_HZ */
#define NS_PER_S  1e9
#define SEED      77u

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

void bench_scale_open(struct bench_scale *scale, size_t n_channels)
{
    struct termios raw;
    *scale = (struct bench_scale){.n_channels = n_channels, .drift_start_s = HUGE_VAL};
    sh_random_init(&scale->random, SEED);
    scale->terminal = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(scale->terminal >= 0);
    assert_int_equal(grantpt(scale->terminal) + unlockpt(scale->terminal), 0);
    (void)snprintf(scale->path, sizeof scale->path, "%s", ptsname(scale->terminal));
    /* raw, before the program has it, so that nothing is echoed */
    assert_int_equal(tcgetattr(scale->terminal, &raw), 0);
    cfmakeraw(&raw);
    assert_int_equal(tcsetattr(scale->terminal, TCSANOW, &raw), 0);
    assert_int_equal(fcntl(scale->terminal, F_SETFL, O_NONBLOCK), 0);
    scale->began_s = now_s();
}

void bench_scale_close(struct bench_scale *scale)
{
    if (scale->terminal >= 0) {
        (void)close(scale->terminal);
        scale->terminal = -1;
    }
}

static double get_counts(struct bench_scale *scale, size_t channel)
{
    const double counts = scale->law(channel, scale->force_n);
    /* at the frame's own time, however late it is sent */
    const double since_s =
        scale->began_s + (double)scale->n_frames / BENCH_SCALE_RATE_HZ - scale->drift_start_s;
    const double drift =
        since_s > 0.0 ? scale->drift_ratio * -expm1(-since_s / scale->drift_time_s) : 0.0;
    return counts + drift * (counts - scale->rest_counts) +
           scale->noise_counts * sh_random_get_normal(&scale->random);
}

void bench_scale_send(struct bench_scale *scale)
{
    const double due = (now_s() - scale->began_s) * BENCH_SCALE_RATE_HZ;
    while ((double)scale->n_frames < due) {
        char line[128];
        int n = snprintf(line, sizeof line, "%lu", scale->n_frames * PERIOD_US);
        for (size_t i = 0; i < scale->n_channels; i++) {
            n += snprintf(line + n, sizeof line - (size_t)n, ",%ld",
                          lround(get_counts(scale, i)));
        }
        n += snprintf(line + n, sizeof line - (size_t)n, "\n");
        if (scale->terminal >= 0 && !scale->is_silent) {
            /* nobody may be reading yet: what does not fit is lost, as on a wire */
            (void)!write(scale->terminal, line, (size_t)n);
        }
        scale->n_frames++;
    }
    program_pause(SLICE_S);
}

static size_t count_text(const struct program *program, const char *text)
{
    size_t n = 0;
    if (!scratch_exists(program->err)) {
        return 0;
    }
    char *said = program_read_err(program);
    for (const char *at = strstr(said, text); at != NULL; at = strstr(at + 1, text)) {
        n++;
    }
    free(said);
    return n;
}

static void kill_late(const struct program *program, double until_s, const char *text)
{
    if (now_s() > until_s) {
        (void)kill(program->pid, SIGKILL);
        fail_msg("no '%s'; it said: %s", text, program_read_err(program));
    }
}

void bench_scale_await(struct bench_scale *scale,
                       const struct program *program,
                       const char *text,
                       size_t n)
{
    const double until_s = now_s() + PROGRAM_LIMIT_S;
    while (count_text(program, text) < n) {
        bench_scale_send(scale);
        kill_late(program, until_s, text);
    }
}

int bench_scale_wait(struct bench_scale *scale, struct program *program)
{
    int how = 0;
    const double until_s = now_s() + PROGRAM_LIMIT_S;
    while (waitpid(program->pid, &how, WNOHANG) == 0) {
        bench_scale_send(scale);
        kill_late(program, until_s, "end");
    }
    program_close_keys(program);
    return WIFEXITED(how) ? WEXITSTATUS(how) : 128 + WTERMSIG(how);
}
