/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_PORTS_H
#define SH_APP_CAPTURE_PORTS_H

#include "app/capture_sensors.h"

/*
 * Opens the ports of a choice while the sensors of setup are still read, so that one that is in
 * use elsewhere or cannot be set up is known before anything has ended. They stay open in the
 * choice: many boards start anew whenever their port is opened, and shall do so once.
 *
 * Only serial ports and pseudo-terminals that are not among setup's own. A server would have to
 * be waited for, which a recording must not; files and pipes have nobody else to be read by.
 *
 * Statuses and lines of sh_port_open; those that were opened until then are the choice's to
 * close. Test: tests/app/test_capture_ports.c; the real program: tests/live/test_choose.py.
 */
enum sh_status sh_capture_ports_open(struct sh_capture_choice *choice,
                                     const struct sh_capture_setup *setup,
                                     struct sh_error *err);

#endif
