/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "app/live_inside.h"
#include "app/wide_stack.h"
#include "live/number_text.h"
#include "sensor/port_tcp.h"

static void read_list(struct sh_port_list *list)
{
    struct sh_error unread = {.status = SH_OK}; /* none are shown then */
    *list = (struct sh_port_list){.n_entries = 0};
    (void)sh_port_list_read(list, &unread);
}

struct answering {
    struct sh_live_page *page;
    struct sh_text *text;
};

/* Ports and profiles take more stack than the web library's threads have. */
static void answer(void *context)
{
    const struct answering *answering = context;
    struct sh_live_page *page = answering->page;
    struct sh_text *text = answering->text;
    struct sh_port_list list;
    read_list(&list);
    const struct sh_live_ports ports = {&list, &page->config.setup->given,
                                        page->config.server.is_open};
    sh_text_puts(text, "{");
    sh_live_ports_put(&ports, text);
    sh_text_puts(text, ",");
    sh_live_profiles_put(page->config.setup, text);
    sh_text_puts(text, ",");
    (void)pthread_mutex_lock(&page->lock);
    sh_live_sensors_put(&page->sensors, text);
    (void)pthread_mutex_unlock(&page->lock);
    sh_text_printf(text, ",\"most\":%u}", SH_CAPTURE_SETUP_SENSORS_MAX);
    sh_port_list_close(&list);
}

int sh_live_choose_answer(struct sh_live_page *page, struct sh_text *text)
{
    struct answering answering = {page, text};
    return sh_wide_stack_run(answer, &answering) == SH_OK ? 200 : 503;
}

void sh_live_choose_put_hello(struct sh_live_page *page, struct sh_text *text)
{
    (void)pthread_mutex_lock(&page->lock);
    const struct sh_live_sensors *sensors = &page->sensors;
    sh_text_puts(text, ",\"athlete\":");
    sh_number_text_put_string(text, sensors->athlete);
    sh_text_printf(text, ",\"is_idle\":%s,\"error\":", sensors->n == 0 ? "true" : "false");
    sh_number_text_put_name(text, sensors->trouble);
    (void)pthread_mutex_unlock(&page->lock);
}

void sh_live_choose_hear(struct sh_live_page *page, const struct sh_capture *capture)
{
    const double now_s = sh_live_now_s();
    (void)pthread_mutex_lock(&page->lock);
    for (size_t i = 0; sh_capture_is_recording(capture) && i < page->sensors.n; i++) {
        const struct sh_capture_hearing hearing = sh_capture_get_hearing(capture, i);
        sh_live_sensors_hear(&page->sensors, i, &hearing, now_s);
    }
    page->hearing = sh_live_sensors_get_hearing(&page->sensors);
    (void)pthread_mutex_unlock(&page->lock);
}

static void tell_reload(struct sh_live_page *page)
{
    (void)sh_server_tell(page->server, SH_ROOM_LOGGED, "{\"type\":\"reload\"}");
}

void sh_live_front_idle(void *context,
                        const struct sh_session *session,
                        const struct sh_error *why)
{
    struct sh_live_page *page = context;
    sh_live_set_archer(page, session->athlete);
    (void)pthread_mutex_lock(&page->lock);
    sh_live_sensors_clear(&page->sensors, why);
    (void)pthread_mutex_unlock(&page->lock);
    tell_reload(page);
}

/* A port that is plainly not there, or not this user's, does not end a recording. */
static enum sh_status find_port(const char *address, struct sh_error *err)
{
    char path[SH_PORT_LIST_TEXT_BYTES];
    if (strncmp(address, SH_PORT_TCP_PREFIX, strlen(SH_PORT_TCP_PREFIX)) == 0) {
        return SH_OK;
    }
    if (strncmp(address, SH_PORT_LIST_USB_PREFIX, strlen(SH_PORT_LIST_USB_PREFIX)) == 0) {
        return sh_port_list_find_usb(address, path, err);
    }
    return access(address, R_OK) == 0
               ? SH_OK
               : sh_error_set_os(err, errno, address,
                                 "plug the sensor in, or see that you may read the port",
                                 "this port cannot be read");
}

static enum sh_status find_ports(const struct sh_capture_choice *choice, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < choice->n_sensors && status == SH_OK; i++) {
        status = find_port(sh_capture_choice_get_address(choice, i), err);
    }
    return status;
}

static enum sh_status change(struct sh_live_page *page,
                             struct sh_capture *capture,
                             struct sh_live_choice *choice,
                             struct sh_error *refused,
                             struct sh_error *err)
{
    sh_live_zeros_fill(&page->zeros, &choice->choice);
    enum sh_status status = sh_capture_change_sensors(capture, &choice->choice, refused, err);
    if (status == SH_OK && refused->status == SH_OK) {
        (void)pthread_mutex_lock(&page->lock);
        sh_live_sensors_name(&page->sensors, choice);
        (void)pthread_mutex_unlock(&page->lock);
        tell_reload(page);
    }
    return status;
}

enum sh_status sh_live_choose(struct sh_live_page *page,
                              struct sh_capture *capture,
                              const json_t *object,
                              struct sh_error *refused,
                              struct sh_error *err)
{
    struct sh_live_choice *choice = calloc(1, sizeof *choice);
    struct sh_port_list list;
    enum sh_status status = SH_OK;
    if (page->config.setup->is_replay) {
        (void)sh_error_set(refused, SH_ERR_ARGUMENT, NULL, "start the program without --replay",
                           "a replay keeps its sensors");
    } else if (choice == NULL) {
        (void)sh_error_set(refused, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    } else {
        read_list(&list);
        const struct sh_live_ports ports = {&list, &page->config.setup->given,
                                            page->config.server.is_open};
        if (sh_live_choice_read(&ports, page->config.setup, object, choice, refused) == SH_OK &&
            find_ports(&choice->choice, refused) == SH_OK) {
            status = change(page, capture, choice, refused, err);
        }
        sh_live_choice_close(choice);
        sh_port_list_close(&list);
    }
    free(choice);
    return status;
}
