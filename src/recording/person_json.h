/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_PERSON_JSON_H
#define SH_RECORDING_PERSON_JSON_H

#include "base/text.h"
#include "recording/person.h"

/*
 * people/NAME.json of a home folder <-> struct sh_person. Keys: docs/load.md. Reading is
 * strict, as of recording.json: a wrong entry is refused in one line that names file and key.
 * Keys this version does not know are kept when the person is written back. Any thread, one
 * person each. Test: tests/recording/test_person_json.c.
 */

#define SH_PERSON_JSON_BYTES_MAX  67108864u /* 64 MiB */
#define SH_PERSON_JSON_PATH_BYTES 4096u

/* The tree a person was read from, with the keys nobody knew. */
struct sh_person_json;

/*
 * Writes the path "HOME/people/NAME.json", NAME percent-encoded. SH_ERR_ARGUMENT: no name, or
 * one of over SH_SESSION_NAME_BYTES - 1 bytes. SH_ERR_FULL: the path or the file's own name is
 * too long.
 */
enum sh_status sh_person_json_make_path(const char *home,
                                        const char *name,
                                        char path[SH_PERSON_JSON_PATH_BYTES],
                                        struct sh_error *err);

/*
 * Reads the file of name into person, which is all zero, and gives *kept (kept may be NULL
 * where nothing will be written back). No file: a person of that name of whom nothing is known,
 * *kept untouched, SH_OK. On failure person is all zero. Statuses of sh_person_json_make_path;
 * SH_ERR_FORMAT (also a file that says it is another person's), SH_ERR_UNSUPPORTED (another
 * version), SH_ERR_MEMORY, SH_ERR_FULL, SH_ERR_PERMISSION, SH_ERR_IO.
 */
enum sh_status sh_person_json_read(const char *home,
                                   const char *name,
                                   struct sh_person *person,
                                   struct sh_person_json **kept,
                                   struct sh_error *err);

/*
 * Replaces the file of person->name in home/people/, a folder that is there, whole
 * (sh_atomic_file_write, whose statuses come back too). kept is what the person was read from,
 * or NULL; it is not changed. SH_ERR_FORMAT: a text is not UTF-8. SH_ERR_NOT_FINITE,
 * SH_ERR_MEMORY. One writer a person at a time.
 */
enum sh_status sh_person_json_write(const char *home,
                                    const struct sh_person *person,
                                    const struct sh_person_json *kept,
                                    struct sh_error *err);

/* Frees what reading gave and sets *kept to NULL. Takes NULL inside. */
void sh_person_json_close(struct sh_person_json **kept);

#endif
