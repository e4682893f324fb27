/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/manual.h"

#include <stdbool.h>

/* Text as roff takes it: no line begins a request, and hyphens stay what they are. */
static void put_roff(struct sh_text *text, const char *string)
{
    bool is_line_start = true;
    for (const char *at = string; *at != '\0'; at++) {
        if (is_line_start && (*at == '.' || *at == '\'')) {
            sh_text_puts(text, "\\&");
        }
        if (*at == '\\') {
            sh_text_puts(text, "\\e");
        } else if (*at == '-') {
            sh_text_puts(text, "\\-");
        } else {
            sh_text_write(text, at, 1);
        }
        is_line_start = *at == '\n';
    }
}

static void put_option(struct sh_text *text, const struct sh_command_option *option)
{
    sh_text_puts(text, ".TP\n");
    if (option->letter != 0) {
        sh_text_printf(text, "\\fB\\-%c\\fR, ", option->letter);
    }
    sh_text_puts(text, "\\fB\\-\\-");
    put_roff(text, option->name);
    sh_text_puts(text, "\\fR");
    if (option->argument != NULL) {
        sh_text_puts(text, " \\fI");
        put_roff(text, option->argument);
        sh_text_puts(text, "\\fR");
    }
    sh_text_puts(text, "\n");
    put_roff(text, option->help);
    sh_text_puts(text, "\n");
}

static void put_command(struct sh_text *text, const struct sh_command *command)
{
    sh_text_puts(text, ".SS stringhand ");
    put_roff(text, command->name);
    sh_text_puts(text, command->n_options > 0 ? " [options]" : "");
    if (command->operands[0] != '\0') {
        sh_text_puts(text, " ");
        put_roff(text, command->operands);
    }
    sh_text_puts(text, "\n");
    put_roff(text, command->summary);
    sh_text_puts(text, "\n");
    if (command->details != NULL) {
        sh_text_puts(text, ".PP\n");
        put_roff(text, command->details);
        sh_text_puts(text, "\n");
    }
    for (size_t i = 0; i < command->n_options; i++) {
        put_option(text, &command->options[i]);
    }
}

void sh_manual_format_page(const struct sh_command *const *commands,
                           size_t n_commands,
                           struct sh_text *text)
{
    sh_text_puts(
        text,
        ".TH STRINGHAND 1 \"\" \"stringhand " SH_VERSION "\"\n"
        ".SH NAME\n"
        "stringhand \\- find and measure the shots of a recurve bow in what a sensor sends\n"
        ".SH SYNOPSIS\n"
        "\\fBstringhand\\fR \\fICOMMAND\\fR [options] ...\n"
        ".br\n"
        "\\fBstringhand\\fR \\fB\\-\\-help\\fR | \\fB\\-\\-version\\fR | \\fB\\-\\-manual\\fR "
        "| "
        "\\fB\\-\\-completion\\fR\n"
        ".SH DESCRIPTION\n"
        "Standard output is data, standard error is for people. Every command takes\n"
        "\\fB\\-\\-help\\fR. \\fB\\-\\-manual\\fR prints this page, \\fB\\-\\-completion\\fR a "
        "script\nthat completes command lines in bash.\n"
        ".SH COMMANDS\n");
    for (size_t i = 0; i < n_commands; i++) {
        put_command(text, commands[i]);
    }
    sh_text_puts(text,
                 ".SH EXIT STATUS\n"
                 "0: done. 1: the input cannot be used; one line on standard error says\n"
                 "what, where, and what to do. 2: the command line is wrong.\n"
                 ".SH CAUTIONS\n"
                 "Shoot only on a range, under its rules and its officer. Never draw and\n"
                 "let go without an arrow. Not a medical device: limits, pain and return\n"
                 "to shooting belong to licensed practice.\n");
}

static void put_words(struct sh_text *text, const struct sh_command *command)
{
    for (size_t i = 0; i < command->n_options; i++) {
        sh_text_printf(text, "--%s ", command->options[i].name);
    }
    sh_text_puts(text, "--help");
}

void sh_manual_format_completion(const struct sh_command *const *commands,
                                 size_t n_commands,
                                 struct sh_text *text)
{
    sh_text_puts(text, "# Completes stringhand's command lines in bash; made by\n"
                       "# stringhand --completion from its own tables.\n"
                       "_stringhand() {\n"
                       "    local word=${COMP_WORDS[COMP_CWORD]} options=\n"
                       "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
                       "        mapfile -t COMPREPLY < <(compgen -W '");
    for (size_t i = 0; i < n_commands; i++) {
        sh_text_printf(text, "%s ", commands[i]->name);
    }
    sh_text_puts(text, "--help --version --manual --completion' -- \"$word\")\n"
                       "        return\n"
                       "    fi\n"
                       "    case ${COMP_WORDS[1]} in\n");
    for (size_t i = 0; i < n_commands; i++) {
        sh_text_printf(text, "    %s) options='", commands[i]->name);
        put_words(text, commands[i]);
        sh_text_puts(text, "' ;;\n");
    }
    sh_text_puts(text,
                 "    esac\n"
                 "    case $word in\n"
                 "    -*) mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$word\") ;;\n"
                 "    *)\n"
                 "        compopt -o filenames 2>/dev/null\n"
                 "        mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n"
                 "        ;;\n"
                 "    esac\n"
                 "}\n"
                 "complete -F _stringhand stringhand\n");
}
