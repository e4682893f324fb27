/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_list.h"

#include <libserialport.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ID_DIGITS 4u
#define TODO_USB  "give usb:VID:PID, such as usb:0403:6001, or usb:SERIAL"

static void copy_text(char to[SH_PORT_LIST_TEXT_BYTES], const char *from)
{
    (void)snprintf(to, SH_PORT_LIST_TEXT_BYTES, "%s", from != NULL ? from : "");
}

static void read_entry(const struct sp_port *port, struct sh_port_list_entry *entry)
{
    int vid = 0;
    int pid = 0;
    *entry = (struct sh_port_list_entry){.is_usb = false};
    copy_text(entry->path, sp_get_port_name(port));
    copy_text(entry->description, sp_get_port_description(port));
    if (sp_get_port_transport(port) != SP_TRANSPORT_USB ||
        sp_get_port_usb_vid_pid(port, &vid, &pid) != SP_OK) {
        return;
    }
    entry->is_usb = true;
    entry->usb_vid = (unsigned)vid;
    entry->usb_pid = (unsigned)pid;
    copy_text(entry->usb_serial, sp_get_port_usb_serial(port));
}

enum sh_status sh_port_list_read(struct sh_port_list *out, struct sh_error *err)
{
    struct sp_port **ports = NULL;
    enum sp_return answer = sp_list_ports(&ports);
    if (answer == SP_ERR_MEM) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    if (answer != SP_OK) {
        return sh_error_set(err, SH_ERR_IO, NULL, "give the port by its path",
                            "the system does not list its serial ports");
    }
    size_t n_entries = 0;
    while (ports[n_entries] != NULL) {
        n_entries++;
    }
    struct sh_port_list_entry *entries = calloc(n_entries + 1, sizeof *entries);
    if (entries == NULL) {
        sp_free_port_list(ports);
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < n_entries; i++) {
        read_entry(ports[i], &entries[i]);
    }
    sp_free_port_list(ports);
    *out = (struct sh_port_list){entries, n_entries};
    return SH_OK;
}

void sh_port_list_close(struct sh_port_list *list)
{
    free(list->entries);
    *list = (struct sh_port_list){NULL, 0};
}

/* Reads exactly four hexadecimal digits. */
static bool parse_id(const char *text, unsigned *id)
{
    if (strspn(text, "0123456789abcdefABCDEF") < ID_DIGITS) {
        return false;
    }
    char digits[ID_DIGITS + 1] = {0};
    memcpy(digits, text, ID_DIGITS);
    *id = (unsigned)strtoul(digits, NULL, 16);
    return true;
}

static bool parse_ids(const char *text, unsigned *vid, unsigned *pid)
{
    return strlen(text) == 2 * ID_DIGITS + 1 && text[ID_DIGITS] == ':' && parse_id(text, vid) &&
           parse_id(text + ID_DIGITS + 1, pid);
}

static bool is_named(const struct sh_port_list_entry *entry, const char *name)
{
    unsigned vid = 0;
    unsigned pid = 0;
    if (!entry->is_usb) {
        return false;
    }
    if (parse_ids(name, &vid, &pid)) {
        return entry->usb_vid == vid && entry->usb_pid == pid;
    }
    return strcmp(entry->usb_serial, name) == 0;
}

enum sh_status sh_port_list_find_usb(const char *address,
                                     char path[SH_PORT_LIST_TEXT_BYTES],
                                     struct sh_error *err)
{
    const char *name = address + strlen(SH_PORT_LIST_USB_PREFIX);
    struct sh_port_list list = {NULL, 0};
    size_t n_found = 0;
    if (name[0] == '\0') {
        return sh_error_set(err, SH_ERR_ARGUMENT, address, TODO_USB, "no device is named");
    }
    enum sh_status status = sh_port_list_read(&list, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_port_list_entry *found = NULL;
    for (size_t i = 0; i < list.n_entries; i++) {
        if (is_named(&list.entries[i], name)) {
            found = &list.entries[i];
            n_found++;
        }
    }
    if (found == NULL) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, address, "plug the sensor in",
                              "no such USB serial port");
    } else if (n_found > 1) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, address, "name it by its serial number",
                              "%zu ports fit", n_found);
    } else {
        copy_text(path, found->path);
    }
    sh_port_list_close(&list);
    return status;
}
