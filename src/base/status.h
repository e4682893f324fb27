/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_STATUS_H
#define SH_BASE_STATUS_H

/*
 * What a function answers, and what a person is told when it could not do its work.
 *
 * A status is 0 when all is well and negative when not. "Not yet", "no match" and "end" are
 * answers of the functions that can give them, not errors, and have no status here.
 */

/* name, the text that stands for it where no struct sh_error was filled in */
#define SH_STATUS_LIST(X)                                                                      \
    X(SH_OK, 0, "fine")                                                                        \
    X(SH_ERR_ARGUMENT, -1, "a setting is out of its range")                                    \
    X(SH_ERR_MEMORY, -2, "out of memory")                                                      \
    X(SH_ERR_IO, -3, "reading or writing failed")                                              \
    X(SH_ERR_NOT_FOUND, -4, "not found")                                                       \
    X(SH_ERR_PERMISSION, -5, "no permission")                                                  \
    X(SH_ERR_FORMAT, -6, "the input is not of the expected form")                              \
    X(SH_ERR_NOT_FINITE, -7, "a number is infinite or not a number")                           \
    X(SH_ERR_SHORT, -8, "too few samples")                                                     \
    X(SH_ERR_SINGULAR, -9, "the data cannot determine the result")                             \
    X(SH_ERR_FULL, -10, "a bounded buffer is full")                                            \
    X(SH_ERR_UNSUPPORTED, -11, "not supported")                                                \
    X(SH_ERR_BUSY, -12, "in use by something else")                                            \
    X(SH_ERR_EXISTS, -13, "already there")

enum sh_status {
#define X(name, value, text) name = (value),
    SH_STATUS_LIST(X)
#undef X
};

/*
 * Name ("SH_ERR_IO") and plain text of a status. A number that is no status gives
 * "SH_ERR_UNKNOWN" and "unknown error". The strings are static: never free them.
 */
const char *sh_status_name(enum sh_status status);
const char *sh_status_text(enum sh_status status);

#define SH_ERROR_WHAT_BYTES  192
#define SH_ERROR_WHERE_BYTES 512
#define SH_ERROR_TODO_BYTES  192

/*
 * One failure, in words for a person. Owned by the caller, all zero at first.
 * The first failure wins: once status is not SH_OK, later reports leave it as it is.
 */
struct sh_error {
    enum sh_status status;
    int os_number;                    /* errno, or 0 */
    char what[SH_ERROR_WHAT_BYTES];   /* "the sample rate is 0" */
    char where[SH_ERROR_WHERE_BYTES]; /* "tuesday/recording.json: streams[0].rate_hz" */
    char todo[SH_ERROR_TODO_BYTES];   /* "give the rate in Hz, above 0" */
};

/*
 * Fills err (which may be NULL) unless it already holds a failure, and returns status, so that
 * a failing function can end with `return sh_error_set(...)`. where and todo may be NULL.
 * what is a printf format. Texts that do not fit are cut. Line breaks and other control bytes
 * become '?', so that the message stays one line. SH_ERR_MEMORY says that memory was short and
 * nothing else: what was in the making has nothing to do with it.
 */
enum sh_status sh_error_set(struct sh_error *err,
                            enum sh_status status,
                            const char *where,
                            const char *todo,
                            const char *what,
                            ...) __attribute__((format(printf, 5, 6)));

/*
 * The same for a failed system call: the text of os_number (an errno) is appended to what, and
 * the status follows from it (ENOENT: not found, EACCES and EPERM: permission, ENOMEM: memory,
 * EBUSY: busy, EEXIST: exists, all else: IO).
 */
enum sh_status sh_error_set_os(struct sh_error *err,
                               int os_number,
                               const char *where,
                               const char *todo,
                               const char *what,
                               ...) __attribute__((format(printf, 5, 6)));

#define SH_ERROR_LINE_BYTES                                                                    \
    (SH_ERROR_WHAT_BYTES + SH_ERROR_WHERE_BYTES + SH_ERROR_TODO_BYTES + 8)

/*
 * Writes "where: what; todo" (parts that are empty are left out) as one line without a line
 * break into line, which holds SH_ERROR_LINE_BYTES.
 */
void sh_error_format(const struct sh_error *err, char line[SH_ERROR_LINE_BYTES]);

#endif
