/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/calibrating.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "support/cmocka_all.h"

#define GRAVITY 9.81
#define CARRIED (1.0 - 1.2 / 8000.0)

const char calibrating_profile[] = "; the kiln's cell\n"
                                   "[sensor]\n"
                                   "framing = text\n"
                                   "[stream string]\n"
                                   "rate_hz = 500 ; nominal\n"
                                   "[column 1]\n"
                                   "role = string_force\n"
                                   "scale = 0.01 ; a guess\n"
                                   "range = 0 32767\n";

int calibrating_open(void **state)
{
    struct calibrating *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "cell.ini", place->profile);
    scratch_write(place->profile, calibrating_profile, strlen(calibrating_profile));
    place->scale.terminal = -1;
    *state = place;
    return 0;
}

int calibrating_close(void **state)
{
    struct calibrating *place = *state;
    bench_scale_close(&place->scale);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

double calibrating_straight(size_t channel, const double *force_n)
{
    (void)channel;
    return CALIBRATING_REST + CALIBRATING_PER_N * force_n[0];
}

double calibrating_get_force_n(double mass_kg)
{
    return mass_kg * GRAVITY * CARRIED;
}

void calibrating_start(const struct calibrating *place,
                       struct program *program,
                       const char *more)
{
    const char *words[] = {"calibrate", "--sensor", place->profile, "--port", place->scale.path,
                           "--gravity", "9.81",     "--seconds",    "0.5",    "--mass-u",
                           "0.0001",    "--plain",  more,           NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "calibrate", .words = words, .has_keys = true};
    program_start(program, &config);
    program_await_file(program->err);
}

void calibrating_give_answers(struct calibrating *place,
                              const struct program *program,
                              const struct calibrating_answer *answers)
{
    for (size_t i = 0; answers[i].typed != NULL; i++) {
        bench_scale_await(&place->scale, program, answers[i].question, answers[i].n);
        place->scale.force_n[0] = calibrating_get_force_n(answers[i].mass_kg);
        if (strncmp(answers[i].typed, "steady", 6) == 0) {
            place->scale.drift_ratio = 0.05;
            place->scale.drift_time_s = 2.0;
            place->scale.rest_counts = CALIBRATING_REST;
            struct timespec now = {0};
            (void)clock_gettime(CLOCK_MONOTONIC, &now);
            place->scale.drift_start_s = (double)now.tv_sec + (double)now.tv_nsec / 1e9;
        } else {
            place->scale.drift_start_s = HUGE_VAL;
        }
        program_type(program, answers[i].typed);
        program_type(program, "\n");
    }
}
