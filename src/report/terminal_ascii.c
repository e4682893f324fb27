/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_ascii.h"

#include <stddef.h>
#include <string.h>

static const struct stand_in {
    const char *sign;
    const char *ascii;
} stand_ins[] = {{"\xC2\xB1", "+-"}, {"\xC2\xB2", "2"},   {"\xC3\x97", "x"},
                 {"\xC2\xB7", "*"},  {"\xC2\xB0", "deg"}, {"\xE2\x80\xA6", "..."}};

static const struct stand_in *find_stand_in(const char *at)
{
    for (size_t i = 0; i < sizeof stand_ins / sizeof stand_ins[0]; i++) {
        if (strncmp(at, stand_ins[i].sign, strlen(stand_ins[i].sign)) == 0) {
            return &stand_ins[i];
        }
    }
    return NULL;
}

/* Bytes of the character at a place: its first and the bytes that go on from it. */
static size_t count_bytes(const char *at)
{
    size_t n = 1;
    while (((unsigned char)at[n] & 0xC0u) == 0x80u) {
        n++;
    }
    return n;
}

void sh_terminal_ascii_put(struct sh_text *text, const char *string)
{
    for (const char *at = string; *at != '\0'; at += count_bytes(at)) {
        const struct stand_in *stand_in = find_stand_in(at);
        if (((unsigned char)*at & 0x80u) == 0) {
            sh_text_write(text, at, 1);
        } else {
            sh_text_puts(text, stand_in != NULL ? stand_in->ascii : "?");
        }
    }
}
