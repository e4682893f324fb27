/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/prompt.h"

#include <poll.h>
#include <string.h>
#include <unistd.h>

#define BACKSPACE 0x08
#define DELETE    0x7f
#define KILL_LINE 0x15 /* Ctrl-U */

void sh_prompt_open(struct sh_prompt *prompt)
{
    *prompt = (struct sh_prompt){0};
    if (isatty(STDIN_FILENO) == 0 || tcgetattr(STDIN_FILENO, &prompt->before) != 0) {
        return;
    }
    struct termios raw = prompt->before;
    raw.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
    raw.c_cc[VMIN] = 0;
    raw.c_cc[VTIME] = 0;
    prompt->is_terminal = tcsetattr(STDIN_FILENO, TCSANOW, &raw) == 0;
}

void sh_prompt_open_silent(struct sh_prompt *prompt)
{
    *prompt = (struct sh_prompt){.has_ended = true};
}

void sh_prompt_close(struct sh_prompt *prompt)
{
    if (prompt->is_terminal) {
        (void)tcsetattr(STDIN_FILENO, TCSANOW, &prompt->before);
        prompt->is_terminal = false;
    }
}

/* One byte, if there is one now. */
static bool find_byte(struct sh_prompt *prompt, unsigned char *byte)
{
    struct pollfd waiting = {.fd = STDIN_FILENO, .events = POLLIN};
    if (prompt->has_ended || poll(&waiting, 1, 0) <= 0) {
        return false;
    }
    ssize_t n_read = read(STDIN_FILENO, byte, 1);
    if (n_read <= 0) {
        prompt->has_ended = !prompt->is_terminal || (waiting.revents & POLLHUP) != 0;
        return false;
    }
    return true;
}

/* Takes the last character back, all bytes of it (UTF-8). */
static void erase(struct sh_prompt *prompt)
{
    while (prompt->n_typed > 0) {
        unsigned char byte = (unsigned char)prompt->typed[--prompt->n_typed];
        if ((byte & 0xC0) != 0x80) {
            break;
        }
    }
}

/* Takes one key; true where it ended the line. */
static bool take_key(struct sh_prompt *prompt, unsigned char byte)
{
    if (byte == '\n' || byte == '\r') {
        return true;
    }
    if (byte == BACKSPACE || byte == DELETE) {
        erase(prompt);
    } else if (byte == KILL_LINE) {
        prompt->n_typed = 0;
    } else if (byte >= ' ' || byte == '\t') {
        if (prompt->n_typed + 1 < SH_PROMPT_LINE_BYTES) {
            prompt->typed[prompt->n_typed++] = (char)byte;
        }
    }
    prompt->typed[prompt->n_typed] = '\0';
    return false;
}

bool sh_prompt_find_line(struct sh_prompt *prompt, char line[SH_PROMPT_LINE_BYTES])
{
    unsigned char byte = 0;
    bool is_complete = false;
    while (!is_complete && find_byte(prompt, &byte)) {
        is_complete = take_key(prompt, byte);
    }
    /* the last line of a file may lack its end; a terminal that is gone ends none */
    bool is_last = prompt->has_ended && !prompt->is_terminal && prompt->n_typed > 0;
    if (!is_complete && !is_last) {
        return false;
    }
    memcpy(line, prompt->typed, prompt->n_typed);
    line[prompt->n_typed] = '\0';
    prompt->n_typed = 0;
    prompt->typed[0] = '\0';
    return true;
}
