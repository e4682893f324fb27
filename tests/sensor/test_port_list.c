/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_list.h"

#include <libserialport.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

/*
 * The machine's ports are replaced by those of a table (a program's own functions come before
 * a library's); the fake port pointers point into it. A function of the library has no context,
 * hence the global.
 */

struct fake_port {
    char name[16];
    char description[16];
    enum sp_transport transport;
    int vid;
    int pid;
    char serial[16]; /* "": the library gives NULL */
};

#define N_PORTS 4u

static struct {
    enum sp_return answer;
    int n_lists;
    struct fake_port ports[N_PORTS];
} fake; /* NOLINT(cppcoreguidelines-avoid-non-const-global-variables) */

static const struct fake_port machine[N_PORTS] = {
    {"/dev/ttyS0", "", SP_TRANSPORT_NATIVE, 0, 0, ""},
    {"/dev/ttyUSB0", "gauge", SP_TRANSPORT_USB, 0x0403, 0x6001, "BRICK0001"},
    {"/dev/ttyUSB1", "gauge", SP_TRANSPORT_USB, 0x0403, 0x6001, "BRICK0002"},
    {"/dev/ttyACM0", "", SP_TRANSPORT_USB, 0x2e8a, 0x000a, ""},
};

/* The table's port again; the library's own type is not known here. */
static struct fake_port *fake_of(const struct sp_port *port)
{
    size_t i = 0;
    while ((const void *)&fake.ports[i] != (const void *)port) {
        i++;
        assert_true(i < N_PORTS);
    }
    return &fake.ports[i];
}

static char *text_or_null(char *text)
{
    return text[0] != '\0' ? text : NULL;
}

enum sp_return sp_list_ports(struct sp_port ***list)
{
    if (fake.answer != SP_OK) {
        return fake.answer;
    }
    struct sp_port **ports = calloc(N_PORTS + 1, sizeof(struct sp_port *));
    assert_non_null(ports);
    for (size_t i = 0; i < N_PORTS; i++) {
        ports[i] = (struct sp_port *)(void *)&fake.ports[i];
    }
    *list = ports;
    fake.n_lists++;
    return SP_OK;
}

void sp_free_port_list(struct sp_port **ports)
{
    free(ports);
    fake.n_lists--;
}

char *sp_get_port_name(const struct sp_port *port)
{
    return fake_of(port)->name;
}

char *sp_get_port_description(const struct sp_port *port)
{
    return text_or_null(fake_of(port)->description);
}

enum sp_transport sp_get_port_transport(const struct sp_port *port)
{
    return fake_of(port)->transport;
}

enum sp_return sp_get_port_usb_vid_pid(const struct sp_port *port, int *vid, int *pid)
{
    *vid = fake_of(port)->vid;
    *pid = fake_of(port)->pid;
    return SP_OK;
}

char *sp_get_port_usb_serial(const struct sp_port *port)
{
    return text_or_null(fake_of(port)->serial);
}

static int set_up(void **state)
{
    fake.answer = SP_OK;
    fake.n_lists = 0;
    memcpy(fake.ports, machine, sizeof machine);
    return 0;
}

static int tear_down(void **state)
{
    return fake.n_lists;
}

static void test_lists_all(void **state)
{
    struct sh_port_list list;
    struct sh_error err = {.status = SH_OK};
    assert_int_equal(sh_port_list_read(&list, &err), SH_OK);
    assert_int_equal(list.n_entries, N_PORTS);
    assert_string_equal(list.entries[0].path, "/dev/ttyS0");
    assert_string_equal(list.entries[0].description, "");
    assert_false(list.entries[0].is_usb);
    assert_string_equal(list.entries[2].path, "/dev/ttyUSB1");
    assert_string_equal(list.entries[2].description, "gauge");
    assert_true(list.entries[2].is_usb);
    assert_int_equal(list.entries[2].usb_vid, 0x0403);
    assert_int_equal(list.entries[2].usb_pid, 0x6001);
    assert_string_equal(list.entries[2].usb_serial, "BRICK0002");
    assert_string_equal(list.entries[3].usb_serial, "");
    sh_port_list_close(&list);
    assert_null(list.entries);
    sh_port_list_close(&list);
}

static void test_library_failures(void **state)
{
    struct sh_port_list list = {NULL, 7};
    struct sh_error err = {.status = SH_OK};
    fake.answer = SP_ERR_MEM;
    assert_int_equal(sh_port_list_read(&list, &err), SH_ERR_MEMORY);
    err = (struct sh_error){.status = SH_OK};
    fake.answer = SP_ERR_FAIL;
    assert_int_equal(sh_port_list_read(&list, &err), SH_ERR_IO);
    assert_int_equal(list.n_entries, 7);
}

struct look_up {
    const char *address;
    enum sh_status status;
    const char *path;
};

static void test_finds_the_one_device(void **state)
{
    static const struct look_up look_ups[] = {
        {"usb:2e8a:000a", SH_OK, "/dev/ttyACM0"},
        {"usb:2E8A:000A", SH_OK, "/dev/ttyACM0"},
        {"usb:BRICK0001", SH_OK, "/dev/ttyUSB0"},
        {"usb:BRICK0002", SH_OK, "/dev/ttyUSB1"},
        {"usb:0403:6001", SH_ERR_ARGUMENT, ""}, /* two of them */
        {"usb:0403:6002", SH_ERR_NOT_FOUND, ""},
        {"usb:0000:0000", SH_ERR_NOT_FOUND, ""}, /* a port that is no USB port has no ids */
        {"usb:brick0001", SH_ERR_NOT_FOUND, ""},
        {"usb:403:6001", SH_ERR_NOT_FOUND, ""},
        {"usb:", SH_ERR_ARGUMENT, ""}, /* not the device without a serial number */
    };
    for (size_t i = 0; i < sizeof look_ups / sizeof look_ups[0]; i++) {
        char path[SH_PORT_LIST_TEXT_BYTES] = "";
        struct sh_error err = {.status = SH_OK};
        assert_int_equal(sh_port_list_find_usb(look_ups[i].address, path, &err),
                         look_ups[i].status);
        assert_string_equal(path, look_ups[i].path);
        assert_int_equal(err.status, look_ups[i].status);
    }
}

/* A device that comes back under another name is found again. */
static void test_name_may_change(void **state)
{
    char path[SH_PORT_LIST_TEXT_BYTES] = "";
    struct sh_error err = {.status = SH_OK};
    memcpy(fake.ports[1].name, machine[2].name, sizeof machine[2].name);
    memcpy(fake.ports[2].name, machine[1].name, sizeof machine[1].name);
    assert_int_equal(sh_port_list_find_usb("usb:BRICK0001", path, &err), SH_OK);
    assert_string_equal(path, "/dev/ttyUSB1");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_lists_all, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_library_failures, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_finds_the_one_device, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_name_may_change, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
