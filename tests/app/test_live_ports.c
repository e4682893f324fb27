/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_ports.h"

#include <jansson.h>
#include <string.h>

#include "support/cmocka_all.h"

static struct sh_port_list_entry entries[] = {
    {.path = "/dev/ttyS0", .description = "ttyS0"},
    {.path = "/dev/ttyUSB0", .is_usb = true, .usb_serial = "KILN01"},
    {.path = "/dev/ttyUSB1", .is_usb = true, .usb_serial = "TWICE"},
    {.path = "/dev/ttyUSB2", .is_usb = true, .usb_serial = "TWICE"},
    {.path = "/dev/ttyUSB3", .is_usb = true, .usb_serial = "0403:6001"},
    {.path = "/dev/ttyUSB4", .is_usb = true, .description = "without a serial number"},
};
static const struct sh_port_list list = {entries, sizeof entries / sizeof entries[0]};
static const struct sh_capture_setup_given given = {
    .port = {"tcp:10.0.0.5:4000", "-", "/tmp/kiln"}, .n_ports = 3};
static const struct sh_live_ports at_home = {&list, &given, false};
static const struct sh_live_ports open_to_all = {&list, &given, true};

/* "usb:SERIAL" only where it cannot be taken for another device. */
static void test_addresses_that_are_offered(void **state)
{
    static const char *const wanted[] = {"/dev/ttyS0",   "usb:KILN01",   "/dev/ttyUSB1",
                                         "/dev/ttyUSB2", "/dev/ttyUSB3", "/dev/ttyUSB4"};
    char address[SH_PORT_LIST_TEXT_BYTES + 4];
    for (size_t i = 0; i < list.n_entries; i++) {
        sh_live_ports_get_address(&list, i, address);
        assert_string_equal(address, wanted[i]);
    }
}

static void expect(const struct sh_live_ports *ports, const char *address, enum sh_status want)
{
    struct sh_error err = {0};
    const enum sh_status got = sh_live_ports_check(ports, address, &err);
    if (got != want) {
        fail_msg("'%s': %s", address, sh_status_name(got));
    }
    assert_true(want == SH_OK || (err.what[0] != '\0' && err.todo[0] != '\0'));
}

static void test_what_may_be_opened(void **state)
{
    static const char *const fine[] = {"/dev/ttyS0",    "/dev/ttyUSB1",    "usb:KILN01",
                                       "usb:0403:6001", "usb:A SERIAL 1.", "tcp:10.0.0.5:4000",
                                       "/tmp/kiln"};
    for (size_t i = 0; i < sizeof fine / sizeof fine[0]; i++) {
        expect(&at_home, fine[i], SH_OK);
        expect(&open_to_all, fine[i], SH_OK);
    }
    expect(&at_home, "tcp:127.0.0.1:4000", SH_OK);
    expect(&at_home, "tcp:sensor:4000", SH_OK);
}

/* Files, pipes, standard input, other machines, terminals' codes. */
static void test_what_may_not_be_opened(void **state)
{
    static char long_one[SH_PORT_LIST_TEXT_BYTES + 1] = "usb:";
    static const char *const refused[] = {"-",
                                          "",
                                          "/etc/passwd",
                                          "/dev/ttyS1",
                                          "/dev/../etc/passwd",
                                          "/dev/ttyS0/../../etc/passwd",
                                          "/dev/ttyS0 ",
                                          "./ttyS0",
                                          "ttyS0",
                                          "/dev/stdin",
                                          "/proc/self/fd/0",
                                          "/dev/pts/1",
                                          "/tmp/kiln2",
                                          "USB:KILN01",
                                          "TCP:quarry:22",
                                          " tcp:quarry:22",
                                          "http://quarry/",
                                          "usb:\x1b]0;x\x07",
                                          "usb:\xc3\xa9",
                                          "tcp:quarry\n:22",
                                          "\\\\quarry\\pipe",
                                          long_one};
    memset(long_one + 4, 'k', sizeof long_one - 5);
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        expect(&at_home, refused[i], SH_ERR_ARGUMENT);
        expect(&open_to_all, refused[i], SH_ERR_ARGUMENT);
    }
    expect(&open_to_all, "tcp:127.0.0.1:4000", SH_ERR_PERMISSION);
    expect(&open_to_all, "tcp:10.0.0.5:4001", SH_ERR_PERMISSION);
}

static json_t *put(const struct sh_live_ports *ports)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_puts(&text, "{");
    sh_live_ports_put(ports, &text);
    sh_text_puts(&text, "}");
    json_t *got = json_loads(text.data, 0, NULL);
    assert_non_null(got);
    sh_text_close(&text);
    return got;
}

static void test_list_for_the_page(void **state)
{
    json_t *got = put(&at_home);
    const json_t *ports = json_object_get(got, "ports");
    assert_int_equal(json_array_size(ports), list.n_entries + 2); /* without standard input */
    const json_t *usb = json_array_get(ports, 1);
    assert_string_equal(json_string_value(json_object_get(usb, "address")), "usb:KILN01");
    assert_string_equal(json_string_value(json_object_get(usb, "path")), "/dev/ttyUSB0");
    const json_t *typed = json_array_get(ports, list.n_entries);
    assert_string_equal(json_string_value(json_object_get(typed, "address")),
                        "tcp:10.0.0.5:4000");
    assert_string_equal(json_string_value(json_object_get(typed, "about")), "--port");
    assert_int_equal(json_array_size(json_object_get(got, "may_type")), 2);
    for (size_t i = 0; i < json_array_size(ports); i++) {
        expect(&open_to_all,
               json_string_value(json_object_get(json_array_get(ports, i), "address")), SH_OK);
    }
    json_decref(got);
    got = put(&open_to_all);
    const json_t *may_type = json_object_get(got, "may_type");
    assert_int_equal(json_array_size(may_type), 1);
    assert_string_equal(json_string_value(json_array_get(may_type, 0)), "usb:");
    json_decref(got);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_addresses_that_are_offered),
        cmocka_unit_test(test_what_may_be_opened),
        cmocka_unit_test(test_what_may_not_be_opened),
        cmocka_unit_test(test_list_for_the_page),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
