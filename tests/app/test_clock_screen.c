/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_screen.h"

#include <string.h>

#include "app/clock_setup.h"
#include "report/utf8.h"
#include "support/cmocka_all.h"

static struct sh_round_format find_format(const char *name)
{
    struct sh_round_format format;
    assert_int_equal(sh_clock_setup_find(name, NULL, "here", &format, NULL), SH_OK);
    return format;
}

static void draw(struct sh_text *text,
                 const struct sh_clock_screen *screen,
                 const char *name,
                 const struct sh_shooting_clock_view *view)
{
    const struct sh_round_format format = find_format(name);
    sh_text_init(text, 0);
    sh_clock_screen_format(screen, &format, view, text);
    assert_int_equal(text->status, SH_OK);
}

/* Lines, each within the screen's width, fewer than its rows. */
static void check_fits(const struct sh_text *text, const struct sh_clock_screen *screen)
{
    size_t n_lines = 0;
    for (const char *at = text->data; *at != '\0'; n_lines++) {
        const size_t n = strcspn(at, "\n");
        assert_true(sh_utf8_get_columns(at, n) <= screen->n_columns);
        assert_true(at[n] == '\n');
        at += n + 1;
    }
    assert_true(n_lines < screen->n_rows);
}

static size_t count(const char *text, const char *what)
{
    size_t n = 0;
    for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what)) {
        n++;
    }
    return n;
}

static void test_the_smallest_large_digits(void **state)
{
    const struct sh_clock_screen screen = {.n_rows = 12, .n_columns = 40, .is_ascii = true};
    const struct sh_shooting_clock_view view = {.state = SH_SHOOTING_CLOCK_SHOOTING,
                                                .seconds = 107};
    struct sh_text text;
    draw(&text, &screen, "three-120", &view);
    assert_string_equal(text.data, "three-120\nSHOOT\n\n"
                                   "      ###      #########   #########\n"
                                   "   ######      ###   ###         ###\n"
                                   "      ###      ###   ###      ###   \n"
                                   "      ###      ###   ###      ###   \n"
                                   "   #########   #########      ###   \n"
                                   "\nc start/go on  h halt  s stop  q end\n");
    sh_text_close(&text);
}

/* At all sizes, in all states: nothing wraps, nothing scrolls. */
static void test_it_fits(void **state)
{
    static const char *const names[] = {"alternating", "team", "six-240"};
    for (size_t n_rows = 8; n_rows < 60; n_rows += 3) {
        for (size_t n_columns = 1; n_columns < 200; n_columns += 7) {
            for (int i = 0; i <= SH_SHOOTING_CLOCK_OVER; i++) {
                const struct sh_clock_screen screen = {.n_rows = n_rows,
                                                       .n_columns = n_columns};
                const struct sh_shooting_clock_view view = {.state =
                                                                (enum sh_shooting_clock_state)i,
                                                            .seconds = 29,
                                                            .is_warning = true,
                                                            .archer = 3};
                struct sh_text text;
                draw(&text, &screen, names[i % 3], &view);
                check_fits(&text, &screen);
                sh_text_close(&text);
            }
        }
    }
}

static void test_large_in_the_usual_terminals(void **state)
{
    const struct sh_clock_screen wide = {.n_rows = 24, .n_columns = 80, .is_ascii = true};
    const struct sh_clock_screen narrow = {.n_rows = 24, .n_columns = 40, .is_ascii = true};
    struct sh_shooting_clock_view view = {.state = SH_SHOOTING_CLOCK_SHOOTING, .seconds = 8};
    struct sh_text text;
    draw(&text, &wide, "six-240", &view);
    assert_int_equal(count(text.data, "#####################\n"), 9); /* three rows a dot */
    sh_text_close(&text);
    draw(&text, &narrow, "six-240", &view);
    assert_int_equal(count(text.data, "#########\n"), 9);
    sh_text_close(&text);
}

/* Full where shooting is allowed, hatched elsewhere, between bars at the warning. */
static void test_what_the_digits_are_made_of(void **state)
{
    struct sh_clock_screen screen = {.n_rows = 24, .n_columns = 40};
    struct sh_shooting_clock_view view = {.state = SH_SHOOTING_CLOCK_SHOOTING, .seconds = 30};
    struct sh_text text;
    draw(&text, &screen, "six-240", &view);
    assert_non_null(strstr(text.data, "\u2588"));
    assert_null(strstr(text.data, "\u2592"));
    const size_t n_full = count(text.data, "\u2588");
    sh_text_close(&text);
    view.is_warning = true;
    draw(&text, &screen, "six-240", &view);
    assert_int_equal(count(text.data, "\u2588"), n_full + 2 * 40);
    sh_text_close(&text);
    view.is_warning = false;
    view.state = SH_SHOOTING_CLOCK_LINE_UP;
    draw(&text, &screen, "six-240", &view);
    assert_null(strstr(text.data, "\u2588"));
    assert_int_equal(count(text.data, "\u2592"), n_full);
    sh_text_close(&text);
    view.state = SH_SHOOTING_CLOCK_SHOOTING;
    view.seconds = 0; /* the time is up, though nobody has said so yet */
    draw(&text, &screen, "six-240", &view);
    assert_null(strstr(text.data, "\u2588"));
    sh_text_close(&text);
}

static void test_no_room(void **state)
{
    const struct sh_clock_screen screen = {.n_rows = 24, .n_columns = 10};
    const struct sh_shooting_clock_view view = {.state = SH_SHOOTING_CLOCK_SHOOTING,
                                                .seconds = 107};
    struct sh_text text;
    draw(&text, &screen, "three-120", &view);
    assert_non_null(strstr(text.data, "\n107\n"));
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_smallest_large_digits),
        cmocka_unit_test(test_it_fits),
        cmocka_unit_test(test_large_in_the_usual_terminals),
        cmocka_unit_test(test_what_the_digits_are_made_of),
        cmocka_unit_test(test_no_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
