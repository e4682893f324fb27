/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PORT_TCP_H
#define SH_SENSOR_PORT_TCP_H

#include "base/status.h"

#define SH_PORT_TCP_PREFIX "tcp:"

/*
 * Connects to the server of "tcp:HOST:PORT" ("tcp:[v6]:PORT"), waiting at most 5 s for each of
 * its addresses; gives a descriptor that does not block, set only on success.
 * SH_ERR_ARGUMENT: the address cannot be read. SH_ERR_NOT_FOUND: no such host. SH_ERR_IO: it
 * does not answer. Test: tests/sensor/test_port.c.
 */
enum sh_status sh_port_tcp_open(const char *address, int *descriptor, struct sh_error *err);

#endif
