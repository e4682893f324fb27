/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PORT_H
#define SH_SENSOR_PORT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Where a sensor's bytes come from, behind one interface. An address is
 *
 *     -                    standard input
 *     tcp:HOST:PORT        a TCP server; HOST may be [v6]
 *     usb:VID:PID          the USB serial adapter with these identifiers (hexadecimal, 4 digits
 *                          each), or usb:SERIAL with this serial number; the same device under
 *                          whatever name it was plugged in
 *     PATH                 a serial port, a pseudo-terminal, a pipe or a file
 *
 * Serial ports run at 8 data bits, no parity, 1 stop bit, no flow control.
 */

#define SH_PORT_BAUD_DEFAULT       115200
#define SH_PORT_TIMEOUT_MS_DEFAULT 200
#define SH_PORT_RESUME_MS          30 /* by then what the system still held has come */

struct sh_port; /* opaque */

struct sh_port_config {
    const char *address; /* kept while the port is open */
    int baud;            /* serial ports only, 1 or more */
    int timeout_ms;      /* how long a read waits, 0 to 10,000 */
};

/* No address, SH_PORT_BAUD_DEFAULT, SH_PORT_TIMEOUT_MS_DEFAULT. */
struct sh_port_config sh_port_config_default(void);

/*
 * Opens the port for reading; gives it in *out, set only on success. A serial port's rate is
 * read back, and a port that runs at another one is refused (some drivers accept any rate and
 * stay at 9600). Terminals are locked against a second reader on this machine.
 *
 * SH_ERR_ARGUMENT: the address cannot be read or a setting is out of its range.
 * SH_ERR_NOT_FOUND: nothing there now; a sensor that was pulled comes back, so try again.
 * SH_ERR_PERMISSION, SH_ERR_BUSY (someone else reads it), SH_ERR_UNSUPPORTED (the rate; a
 * folder), SH_ERR_MEMORY, SH_ERR_IO. err says where and what to do. May wait 5 s for a TCP
 * server, and as long as the system takes to look up its name.
 * Tests: tests/sensor/test_port.c, tests/sensor/test_port_serial.c.
 */
enum sh_status
sh_port_open(const struct sh_port_config *config, struct sh_port **out, struct sh_error *err);

enum sh_port_answer {
    SH_PORT_DATA,        /* n_bytes of the buffer are filled */
    SH_PORT_NOTHING_YET, /* the timeout passed, or a signal came; ask again */
    SH_PORT_END          /* file at its end, cable pulled, other side gone: close the port */
};

struct sh_port_reading {
    enum sh_port_answer answer;
    size_t n_bytes;       /* 0 unless SH_PORT_DATA */
    int64_t host_time_us; /* this machine's monotonic clock just after the bytes were read */
};

/*
 * Reads up to n_bytes_max (1 or more) bytes as soon as there are any, or waits for the timeout.
 * Never spins: a hung-up terminal answers SH_PORT_END at once, and again each time it is asked.
 * SH_ERR_ARGUMENT (no room to read into), SH_ERR_IO.
 * One thread at a time. Test: tests/sensor/test_port.c.
 */
enum sh_status sh_port_read(struct sh_port *port,
                            uint8_t *bytes,
                            size_t n_bytes_max,
                            struct sh_port_reading *reading,
                            struct sh_error *err);

/*
 * Is it a serial port or a pseudo-terminal? What is sent to one goes on coming however slowly
 * it is read; files, pipes and connections wait for their reader.
 */
bool sh_port_is_terminal(const struct sh_port *port);

/*
 * Goes on with a terminal that was opened some time before it is read: it is known by config's
 * address (kept) and waits as long as config says from now on. What was sent to it meanwhile
 * is dropped, for nobody knows when it came. Takes SH_PORT_RESUME_MS. Test:
 * tests/sensor/test_port.c.
 */
void sh_port_resume(struct sh_port *port, const struct sh_port_config *config);

/* Closes the port at once, so that a sensor comes back under its old name. Takes NULL. */
void sh_port_close(struct sh_port **port);

#endif
