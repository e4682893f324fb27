/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_style.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/markup.h"
#include "support/cmocka_all.h"

#define CONTRAST_LEAST 4.5 /* WCAG 2.1, 1.4.3 */

/* Value of a colour such as "--ink" in theme 0 (light), 1 (dark), 2 (print). */
static unsigned long find_colour(const char *name, int theme)
{
    char key[32];
    (void)snprintf(key, sizeof key, "%s:#", name);
    const char *at = sh_page_style_get();
    for (int i = 0; i <= theme; i++) {
        at = strstr(at, key);
        assert_non_null(at);
        at += strlen(key);
    }
    return strtoul(at, NULL, 16);
}

/* Relative luminance, WCAG 2.1 definition (from memory; white is 1, black 0, see below). */
static double find_luminance(unsigned long colour)
{
    static const double weight[3] = {0.0722, 0.7152, 0.2126};
    double sum = 0.0;
    for (int i = 0; i < 3; i++) {
        double share = (double)((colour >> (8 * i)) & 0xFFu) / 255.0;
        double linear = share <= 0.03928 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4);
        sum += weight[i] * linear;
    }
    return sum;
}

static double find_contrast(unsigned long a, unsigned long b)
{
    double one = find_luminance(a) + 0.05;
    double other = find_luminance(b) + 0.05;
    return one > other ? one / other : other / one;
}

static void test_contrast(void **state)
{
    static const char *const inks[] = {"--ink", "--soft", "--line", "--warm"};
    static const char *const grounds[] = {"--ground", "--card"};
    assert_true(fabs(find_contrast(0xFFFFFFu, 0x000000u) - 21.0) < 1e-9);
    for (int theme = 0; theme < 3; theme++) {
        for (size_t i = 0; i < 4; i++) {
            for (size_t k = 0; k < 2; k++) {
                double contrast =
                    find_contrast(find_colour(inks[i], theme), find_colour(grounds[k], theme));
                if (contrast < CONTRAST_LEAST) {
                    fail_msg("%s on %s, theme %d: %.2f", inks[i], grounds[k], theme, contrast);
                }
            }
        }
        assert_true(find_contrast(find_colour("--ink", theme), find_colour("--hold", theme)) >=
                    CONTRAST_LEAST);
    }
}

static void test_print_is_grey(void **state)
{
    static const char *const names[] = {"--ground", "--card", "--ink",  "--soft",
                                        "--rule",   "--hold", "--line", "--warm"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        unsigned long colour = find_colour(names[i], 2);
        assert_int_equal(colour & 0xFFu, (colour >> 8) & 0xFFu);
        assert_int_equal(colour & 0xFFu, colour >> 16);
    }
}

static void test_stands_alone(void **state)
{
    assert_null(strstr(sh_page_style_get(), "url(h"));
    assert_null(strstr(sh_page_style_get(), "@import"));
    assert_null(strchr(sh_page_style_get(), '<'));
    markup_check(sh_page_style_get_textures());
    markup_check_has(sh_page_style_get(), "url(#hatch)");
    markup_check_has(sh_page_style_get_textures(), "id=\"hatch\"");
    size_t n_open = markup_count(sh_page_style_get(), "{");
    assert_int_equal(n_open, markup_count(sh_page_style_get(), "}"));
    assert_true(n_open > 20);
    markup_check_has(sh_page_style_get_stack(),
                     "@media screen and"); /* paper keeps its columns */
    assert_null(strchr(sh_page_style_get_stack(), '<'));
    assert_int_equal(markup_count(sh_page_style_get_stack(), "{"),
                     markup_count(sh_page_style_get_stack(), "}"));
    assert_null(strstr(sh_page_style_get_print(), "url("));
    assert_null(strchr(sh_page_style_get_print(), '<'));
    assert_int_equal(markup_count(sh_page_style_get_print(), "{"),
                     markup_count(sh_page_style_get_print(), "}"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_contrast),
        cmocka_unit_test(test_print_is_grey),
        cmocka_unit_test(test_stands_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
