/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_NEAR_H
#define SH_TESTS_SUPPORT_NEAR_H

/*
 * Fails the running cmocka test unless |got - expected| <= absolute + relative * |expected|.
 * NaN is near nothing. Prints expected, got and the tolerance on failure.
 */
#define assert_near(got, expected, absolute, relative)                                         \
    sh_near_check((got), (expected), (absolute), (relative),                                   \
                  &(const struct sh_near_place){#got, __FILE__, __LINE__})

struct sh_near_place {
    const char *expression;
    const char *file;
    int line;
};

void sh_near_check(double got,
                   double expected,
                   double absolute,
                   double relative,
                   const struct sh_near_place *place);

#endif
