/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_ports.h"

#include <stdio.h>
#include <string.h>

#include "live/number_text.h"
#include "sensor/port_tcp.h"

#define TODO_LIST "choose one of the list, or type usb:VID:PID or usb:SERIAL"

/* A colon could make "usb:SERIAL" mean a vendor and a product. */
static bool is_own_serial(const struct sh_port_list *list, size_t port)
{
    const struct sh_port_list_entry *entry = &list->entries[port];
    if (!entry->is_usb || entry->usb_serial[0] == '\0' ||
        strchr(entry->usb_serial, ':') != NULL) {
        return false;
    }
    for (size_t i = 0; i < list->n_entries; i++) {
        const struct sh_port_list_entry *other = &list->entries[i];
        if (i != port && other->is_usb && strcmp(other->usb_serial, entry->usb_serial) == 0) {
            return false;
        }
    }
    return true;
}

void sh_live_ports_get_address(const struct sh_port_list *list,
                               size_t port,
                               char address[SH_PORT_LIST_TEXT_BYTES + 4])
{
    const bool is_serial = is_own_serial(list, port);
    (void)snprintf(address, SH_PORT_LIST_TEXT_BYTES + 4, "%s%s",
                   is_serial ? SH_PORT_LIST_USB_PREFIX : "",
                   is_serial ? list->entries[port].usb_serial : list->entries[port].path);
}

static bool has_prefix(const char *address, const char *prefix)
{
    return strncmp(address, prefix, strlen(prefix)) == 0;
}

/* What is shown again in terminals and on pages. */
static bool is_plain(const char *address)
{
    const size_t n = strlen(address);
    for (size_t i = 0; i < n; i++) {
        if (address[i] < ' ' || address[i] > '~') {
            return false;
        }
    }
    return n > 0 && n < SH_PORT_LIST_TEXT_BYTES;
}

static bool is_listed(const struct sh_live_ports *ports, const char *address)
{
    for (size_t i = 0; i < ports->list->n_entries; i++) {
        if (strcmp(ports->list->entries[i].path, address) == 0) {
            return true;
        }
    }
    for (size_t i = 0; i < ports->given->n_ports; i++) {
        if (strcmp(ports->given->port[i], address) == 0) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_live_ports_check(const struct sh_live_ports *ports,
                                   const char *address,
                                   struct sh_error *err)
{
    if (strcmp(address, "-") == 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "choose a port",
                            "standard input can be read from the start only");
    }
    if (is_listed(ports, address)) {
        return SH_OK;
    }
    if (is_plain(address) && has_prefix(address, SH_PORT_LIST_USB_PREFIX)) {
        return SH_OK;
    }
    if (is_plain(address) && has_prefix(address, SH_PORT_TCP_PREFIX)) {
        return !ports->is_open
                   ? SH_OK
                   : sh_error_set(err, SH_ERR_PERMISSION, NULL,
                                  "start the program with --port, or put it into the profile",
                                  "an open page cannot be given a tcp: address");
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, NULL, TODO_LIST,
                        "this port is not among those that were found");
}

static void put_port(const struct sh_port_list *list, size_t port, struct sh_text *text)
{
    char address[SH_PORT_LIST_TEXT_BYTES + 4];
    sh_live_ports_get_address(list, port, address);
    sh_text_puts(text, "{\"address\":");
    sh_number_text_put_string(text, address);
    sh_text_puts(text, ",\"path\":");
    sh_number_text_put_string(text, list->entries[port].path);
    sh_text_puts(text, ",\"about\":");
    sh_number_text_put_string(text, list->entries[port].description);
    sh_text_puts(text, "}");
}

void sh_live_ports_put(const struct sh_live_ports *ports, struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, "\"ports\":[");
    for (size_t i = 0; i < ports->list->n_entries; i++) {
        sh_text_puts(text, comma);
        put_port(ports->list, i, text);
        comma = ",";
    }
    for (size_t i = 0; i < ports->given->n_ports; i++) {
        if (strcmp(ports->given->port[i], "-") != 0) {
            sh_text_printf(text, "%s{\"address\":", comma);
            sh_number_text_put_string(text, ports->given->port[i]);
            sh_text_puts(text, ",\"path\":\"\",\"about\":\"--port\"}");
            comma = ",";
        }
    }
    sh_text_printf(text, "],\"may_type\":[\"usb:\"%s]", ports->is_open ? "" : ",\"tcp:\"");
}
