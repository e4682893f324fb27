/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PORT_SERIAL_H
#define SH_SENSOR_PORT_SERIAL_H

#include "base/status.h"

/*
 * Terminals, opened raw and locked for this reader; sensor/port.h reads them.
 */

/*
 * Opens a serial port by libserialport at baud, 8 data bits, no parity, 1 stop bit, no flow
 * control, and reads the rate back. Gives a descriptor that does not block, set only on
 * success. Statuses as sh_port_open. Test: tests/sensor/test_port_serial.c.
 */
enum sh_status
sh_port_serial_open(const char *path, int baud, int *descriptor, struct sh_error *err);

/*
 * The same for a pseudo-terminal, which has neither modem lines nor a rate and which
 * libserialport therefore refuses. Test: tests/sensor/test_port.c.
 */
enum sh_status
sh_port_serial_open_pseudo(const char *path, int *descriptor, struct sh_error *err);

#endif
