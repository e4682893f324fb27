/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_PORTS_H
#define SH_APP_LIVE_PORTS_H

#include "app/capture_setup.h"
#include "base/text.h"
#include "sensor/port_list.h"

/*
 * Which ports a page is offered, and which address that comes from there may be opened: whoever
 * is in control of a page must not be able to make the program read files or reach machines.
 * Test: tests/app/test_live_ports.c.
 */
struct sh_live_ports {
    const struct sh_port_list *list;            /* what is plugged in now */
    const struct sh_capture_setup_given *given; /* --port of the command line */
    bool is_open; /* the page, to the network: then no tcp: can be typed there */
};

/*
 * The address to be offered for a port of the list: "usb:SERIAL" where no other has this serial
 * number (it holds wherever the device is plugged in next), else its path.
 */
void sh_live_ports_get_address(const struct sh_port_list *list,
                               size_t port,
                               char address[SH_PORT_LIST_TEXT_BYTES + 4]);

/*
 * SH_OK: it is a path of the list, was given on the command line, begins with "usb:" (only what
 * is plugged in can be meant), or begins with "tcp:" and the page is this machine's alone.
 * SH_ERR_ARGUMENT, SH_ERR_PERMISSION (tcp:): it may not be opened, err says what to do.
 * Standard input never can.
 */
enum sh_status sh_live_ports_check(const struct sh_live_ports *ports,
                                   const char *address,
                                   struct sh_error *err);

/* Appends "ports":[{"address","path","about"}],"may_type":["usb:"] (docs/live.md). */
void sh_live_ports_put(const struct sh_live_ports *ports, struct sh_text *text);

#endif
