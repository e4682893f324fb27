/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_shot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/made.h"
#include "report/width_check.h"
#include "support/cmocka_all.h"

#define MARK_STAR "C*"

struct place {
    struct sh_analysis analysis;
    struct sh_terminal_shot *shot;
};

static void add(struct sh_terminal_curve *curve, double x, double y)
{
    curve->x[curve->n] = x;
    curve->y[curve->n++] = y;
}

/* The force of the made analysis' first shot, a slow fall in its hold. */
static double get_force_n(double t_s)
{
    if (t_s < 20.113) {
        return 0.0;
    }
    if (t_s < 21.402) {
        return 180.0 * (t_s - 20.113) / (21.402 - 20.113);
    }
    return t_s < 25.009 ? 180.0 - 0.5 * (t_s - 21.402) : 0.0;
}

static int open_place(void **state)
{
    static struct place place;
    made_analysis(&place.analysis);
    place.shot = calloc(1, sizeof *place.shot);
    assert_non_null(place.shot);
    struct sh_terminal_shot *shot = place.shot;
    *shot = (struct sh_terminal_shot){.whole_s = {19.6, 26.1},
                                      .close_s = {23.8, 25.3},
                                      .hold_s = {21.402, 25.009},
                                      .over_s = 25.009};
    for (int i = 0; i < 650; i++) {
        double t_s = 19.6 + 0.01 * i;
        add(&shot->force, t_s, get_force_n(t_s));
        if (t_s > 23.8 && t_s < 25.3) {
            add(&shot->close_force, t_s, get_force_n(t_s));
        }
        if (t_s > 21.402 && t_s < 25.009) {
            add(&shot->hold_force, t_s, get_force_n(t_s));
        }
    }
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    free(place->shot);
    sh_analysis_close(&place->analysis);
    return 0;
}

/* The page of shot i; to be freed. */
static char *
write(struct place *place, size_t i, enum sh_terminal_charset charset, size_t n_columns)
{
    struct sh_text text;
    const struct sh_terminal_shot_config config = {charset, n_columns};
    sh_text_init(&text, 0);
    assert_int_equal(sh_terminal_shot_write(&place->analysis, i, place->shot, &config, &text),
                     SH_OK);
    return text.data;
}

static void check_holds(const char *text, const char *part)
{
    if (strstr(text, part) == NULL) {
        fail_msg("'%s' is missing in:\n%s", part, text);
    }
}

static void test_events(void **state)
{
    char *text = write(*state, 0, SH_TERMINAL_PLAIN, 80);
    check_holds(text, "Draw 1 of 3 (shot), recording ");
    check_holds(text, "  D  draw start  20.113 ±0.008\n"
                      "  F  full draw   21.402 ±0.020\n"
                      "  C  clicker     24.871 ±0.001 (by acceleration, probability 0.998)\n"
                      "  R  release     25.009 ±0.001\n"
                      "  L  let-down    does not apply\n"
                      "  E  end         25.60 (25.55 to 25.75)\n");
    free(text);
}

static void test_the_whole_draw(void **state)
{
    char *text = write(*state, 0, SH_TERMINAL_PLAIN, 60);
    check_holds(text, "Force of the draw (N)\n"
                      "                                                  R\n"
                      "         D          F                            C     E\n"
                      "    |    |         .:''''''''''''''''''''''''''''':    |\n"
                      "150 +    |        .:|                            |:    |\n"
                      "    |    |       :' |                            |:    |\n"
                      "    |    |      :'  |                            |:    |\n"
                      "100 +    |     :'   |                            |:    |\n"
                      "    |    |    :'    |                            |:    |\n"
                      "    |    |  .:      |                            |:    |\n"
                      " 50 +    | .:       |                            |:    |\n"
                      "    |    |.:        |");
    free(text);
}

/* Creep rests on the hold: it is drawn close up, only then. */
static void test_evidence(void **state)
{
    struct place *place = *state;
    char *text = write(place, 0, SH_TERMINAL_PLAIN, 80);
    check_holds(text, "Force of the hold, with its mean over 0.5 s (N)\n");
    check_holds(text, "Force around the click (N)\n");
    check_holds(text, "creep: The draw got shorter, by \"5.2 mm\". (threshold 0.75, user)\n");
    check_holds(text, "clipped: a sample reached its channel's range\n");
    check_holds(text, "Not a medical device");
    assert_null(strstr(text, "Load of the fingers"));
    assert_null(strstr(text, "Acceleration"));
    free(text);
    place->analysis.shots[0].n_findings = 0;
    text = write(place, 0, SH_TERMINAL_PLAIN, 80);
    assert_null(strstr(text, "Force of the hold"));
    check_holds(text, "Nothing is beyond its threshold and its own uncertainty.\n");
    free(text);
}

static void test_a_correction_has_a_star(void **state)
{
    struct place *place = *state;
    char *text = write(place, 0, SH_TERMINAL_PLAIN, 80);
    assert_null(strstr(text, MARK_STAR));
    free(text);
    place->analysis.shots[0].shot.is_corrected[SH_EVENT_CLICKER] = true;
    text = write(place, 0, SH_TERMINAL_PLAIN, 80);
    check_holds(text, MARK_STAR);
    check_holds(text, "  C  clicker     24.871 ±0.001 (corrected by a person)\n");
    free(text);
}

/* A let-down, and a shot of which nothing is known but its release, have pages too. */
static void test_little_is_known(void **state)
{
    struct place *place = *state;
    *place->shot = (struct sh_terminal_shot){.over_s = 1.0, .hold_s = {(double)NAN, 1.0}};
    char *text = write(place, 2, SH_TERMINAL_BRAILLE, 80);
    check_holds(text, "Draw 3 of 3");
    assert_null(strstr(text, "Force"));
    free(text);
}

static void test_widths(void **state)
{
    for (size_t n_columns = SH_TERMINAL_SHOT_COLUMNS_MIN; n_columns < 140; n_columns += 7) {
        char *text = write(*state, 0, SH_TERMINAL_BRAILLE, n_columns);
        width_check(text, n_columns);
        free(text);
    }
}

static void test_refuses(void **state)
{
    struct place *place = *state;
    struct sh_terminal_shot_config config = {SH_TERMINAL_PLAIN,
                                             SH_TERMINAL_SHOT_COLUMNS_MIN - 1};
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_terminal_shot_write(&place->analysis, 0, place->shot, &config, &text),
                     SH_ERR_ARGUMENT);
    config.n_columns = 80;
    assert_int_equal(sh_terminal_shot_write(&place->analysis, 3, place->shot, &config, &text),
                     SH_ERR_ARGUMENT);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_events, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_the_whole_draw, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_evidence, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_correction_has_a_star, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_little_is_known, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_widths, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_refuses, open_place, close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
