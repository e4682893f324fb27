/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_DESKTOP_H
#define SH_APP_DESKTOP_H

#include <stdbool.h>

/*
 * Opens an address in the user's browser where there is a desktop (DISPLAY or WAYLAND_DISPLAY
 * is set), by xdg-open, whose voices go nowhere. False where there is none, or it could not be
 * started; it is not waited for. Test: tests/loop/test_review.c.
 */
bool sh_desktop_open(const char *address);

#endif
