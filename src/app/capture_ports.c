/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_ports.h"

#include <string.h>
#include <sys/stat.h>

#include "sensor/port.h"
#include "sensor/port_list.h"

/* The terminal behind an address, under whatever name; false: there is none. */
static bool find_terminal(const char *address, dev_t *terminal)
{
    char path[SH_PORT_LIST_TEXT_BYTES];
    struct sh_error none = {.status = SH_OK};
    struct stat about;
    if (strncmp(address, SH_PORT_LIST_USB_PREFIX, strlen(SH_PORT_LIST_USB_PREFIX)) == 0) {
        if (sh_port_list_find_usb(address, path, &none) != SH_OK) {
            return false;
        }
        address = path;
    }
    if (stat(address, &about) != 0 || !S_ISCHR(about.st_mode)) {
        return false;
    }
    *terminal = about.st_rdev;
    return true;
}

static bool is_own(const struct sh_capture_setup *setup, dev_t terminal)
{
    for (size_t i = 0; i < setup->n_sensors; i++) {
        dev_t own = 0;
        if (find_terminal(setup->address[i], &own) && own == terminal) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_capture_ports_open(struct sh_capture_choice *choice,
                                     const struct sh_capture_setup *setup,
                                     struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < choice->n_sensors && status == SH_OK; i++) {
        struct sh_port_config config = sh_port_config_default();
        dev_t terminal = 0;
        config.address = sh_capture_choice_get_address(choice, i);
        config.baud = choice->profiles[i].baud;
        if (find_terminal(config.address, &terminal) && !is_own(setup, terminal)) {
            status = sh_port_open(&config, &choice->port[i], err);
        }
    }
    return status;
}
