/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_CMOCKA_ALL_H
#define SH_TESTS_SUPPORT_CMOCKA_ALL_H

/* cmocka wants these four before its own header. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#endif
