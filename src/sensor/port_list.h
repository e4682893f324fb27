/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PORT_LIST_H
#define SH_SENSOR_PORT_LIST_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * The serial ports that are plugged in now, as libserialport finds them. Pseudo-terminals are
 * not among them.
 */

#define SH_PORT_LIST_USB_PREFIX "usb:"
#define SH_PORT_LIST_TEXT_BYTES 256u

struct sh_port_list_entry {
    char path[SH_PORT_LIST_TEXT_BYTES];
    char description[SH_PORT_LIST_TEXT_BYTES]; /* for people, "" where there is none */
    bool is_usb;                               /* else the next three mean nothing */
    unsigned usb_vid;
    unsigned usb_pid;
    char usb_serial[SH_PORT_LIST_TEXT_BYTES]; /* "" where the device has none */
};

struct sh_port_list {
    struct sh_port_list_entry *entries; /* owned */
    size_t n_entries;
};

/*
 * Gives the list; *out is set only on success, to be closed. Texts that do not fit are cut.
 * SH_ERR_MEMORY, SH_ERR_IO. Test: tests/sensor/test_port_list.c.
 */
enum sh_status sh_port_list_read(struct sh_port_list *out, struct sh_error *err);

/* Frees the entries and zeroes the list. Takes a zeroed list. */
void sh_port_list_close(struct sh_port_list *list);

/*
 * Finds the path of the one USB port that "usb:VID:PID" or "usb:SERIAL" names.
 * SH_ERR_NOT_FOUND: it is not plugged in. SH_ERR_ARGUMENT: nothing behind "usb:", or several
 * ports fit. SH_ERR_MEMORY, SH_ERR_IO. Test: tests/sensor/test_port_list.c.
 */
enum sh_status sh_port_list_find_usb(const char *address,
                                     char path[SH_PORT_LIST_TEXT_BYTES],
                                     struct sh_error *err);

#endif
