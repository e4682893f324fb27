/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "app/commands.h"
#include "app/say.h"
#include "sensor/port_list.h"

static void format_port(const struct sh_port_list_entry *port, struct sh_text *text)
{
    sh_text_printf(text, "%s", port->path);
    if (port->is_usb) {
        sh_text_printf(text, "\tusb:%04x:%04x", port->usb_vid, port->usb_pid);
        if (port->usb_serial[0] != '\0') {
            sh_text_printf(text, "\tusb:%s", port->usb_serial);
        }
    }
    if (port->description[0] != '\0') {
        sh_text_printf(text, "\t%s", port->description);
    }
    sh_text_puts(text, "\n");
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    (void)command;
    (void)line;
    struct sh_port_list list = {0};
    struct sh_error err = {0};
    if (sh_port_list_read(&list, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    for (size_t i = 0; i < list.n_entries; i++) {
        format_port(&list.entries[i], &text);
    }
    sh_port_list_close(&list);
    return sh_say_text(&text);
}

const struct sh_command sh_command_ports = {
    .name = "ports",
    .operands = "",
    .summary =
        "List the serial ports that are plugged in, with the names capture knows them by.",
    .details = "One port a line: its path, then for USB adapters usb:VID:PID and usb:SERIAL,\n"
               "by which --port finds the same device wherever it is plugged in.",
    .run = run,
};
