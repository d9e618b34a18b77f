/* Driver replay: plays a recording (recording.h) with its own times, as if a scale sent it now.
 *
 * The file is read line by line with pread, so a recording may be of any length; it is checked whole at opening. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drivers/driver.h"
#include "drivers/recording.h"

#define PREFIX "replay:"

struct replay {
    int file;
    bool begun;                 /* the first feed sets the start */
    uint64_t start;             /* monotonic microseconds of the recording's time 0 */
    off_t next;                 /* where the line after `line` begins */
    uint8_t taken;              /* bytes of `line` already given */
    struct recording_line line; /* the next to play */
};
_Static_assert(sizeof(struct replay) <= PORT_PRIVATE, "replay's state fits a port");

static struct replay *own(struct port *p)
{
    return (struct replay *)(void *)p->private_state;
}

static bool replay_claims(const char *device)
{
    return !strncmp(device, PREFIX, sizeof PREFIX - 1);
}

/* The line at *at, and *at moves behind it. *len: its length without line end. False at the end of the file or when it
 * can't be read; *fault then says why, or is NULL at the end. */
static bool read_line(int file, off_t *at, char buf[RECORDING_LINE], size_t *len, const char **fault)
{
    ssize_t n = pread(file, buf, RECORDING_LINE, *at);
    *fault = n < 0 ? "a file that can be read" : NULL;
    if (n <= 0)
        return false;
    const char *end = memchr(buf, '\n', (size_t)n);
    if (!end && n == RECORDING_LINE) {
        *fault = "a line of at most 399 bytes";
        return false;
    }
    *len = end ? (size_t)(end - buf) : (size_t)n;
    *at += (off_t)*len + (end ? 1 : 0);
    return true;
}

/* The next line that plays something; the end of the file is an end at the time of the line before. NULL or a fault;
 * *number counts the lines read. */
static const char *next_line(int file, off_t *at, uint64_t not_before, struct recording_line *out, unsigned *number)
{
    char buf[RECORDING_LINE];
    size_t len;
    const char *fault;
    do {
        ++*number;
        if (!read_line(file, at, buf, &len, &fault)) {
            *out = (struct recording_line){.kind = RECORDING_END, .at = not_before};
            return fault;
        }
        fault = recording_parse(buf, len, out);
    } while (!fault && out->kind == RECORDING_NOTHING);
    if (!fault && out->at < not_before)
        fault = "a time not before that of the line above";
    return fault;
}

/* Reads all of it once, so that a fault is said before anything is played. */
static const char *check_all(int file, unsigned *number)
{
    struct recording_line line = {.kind = RECORDING_NOTHING};
    off_t at = 0;
    unsigned data = 0;
    *number = 0;
    do {
        const char *fault = next_line(file, &at, line.at, &line, number);
        if (fault)
            return fault;
        data += line.kind == RECORDING_DATA;
    } while (line.kind == RECORDING_DATA);
    return data ? NULL : "bytes to play before the end";
}

static void replay_close(struct port *p)
{
    if (own(p)->file >= 0)
        close(own(p)->file);
    own(p)->file = -1;
}

static enum driver_result open_file(const char *path, int *file, char *why)
{
    struct stat st;
    *file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC); /* a queue without writer must not hold us up */
    if (*file < 0) {
        snprintf(why, DRIVER_WHY, "the recording %.100s can't be opened: %s; give the path of an existing one", path,
                 strerror(errno));
        return errno == ENOENT ? DRIVER_MISSING : errno == EACCES ? DRIVER_DENIED : DRIVER_SYSTEM;
    }
    if (!fstat(*file, &st) && S_ISREG(st.st_mode))
        return DRIVER_OK;
    snprintf(why, DRIVER_WHY, "%.100s is no recording: give a file that listen --capture has written", path);
    close(*file);
    *file = -1;
    return DRIVER_WRONG;
}

static enum driver_result replay_open(struct port *p, const char *device, const struct profile *profile, char *why)
{
    struct replay *r = own(p);
    const char *path = device + sizeof PREFIX - 1;
    unsigned number;
    (void)profile;
    *r = (struct replay){.file = -1};
    enum driver_result result = open_file(path, &r->file, why);
    if (result != DRIVER_OK)
        return result;
    const char *fault = check_all(r->file, &number);
    if (!fault)
        fault = next_line(r->file, &r->next, 0, &r->line, &number);
    if (!fault)
        return DRIVER_OK;
    snprintf(why, DRIVER_WHY, "%.100s:%u: expected %s", path, number, fault);
    replay_close(p);
    return DRIVER_WRONG;
}

static void replay_watch(const struct port *p, int *fd, short *events)
{
    (void)p;
    *fd = -1;
    *events = 0;
}

/* Everything whose time has come, as far as buf has room. At the end what is still in buf goes out first; the next call
 * then says DRIVER_GONE, as a pulled cable would. */
static int replay_feed(struct port *p, uint8_t *buf, size_t cap, uint64_t now_us)
{
    struct replay *r = own(p);
    size_t n = 0;
    unsigned number = 0;
    if (!r->begun) {
        r->begun = true;
        r->start = now_us;
    }
    while (n < cap && now_us >= r->start && now_us - r->start >= r->line.at) {
        if (r->line.kind == RECORDING_END)
            return n ? (int)n : DRIVER_GONE;
        if (r->line.kind == RECORDING_AGAIN) {
            r->start += r->line.at;
            r->next = 0;
            r->line =
                (struct recording_line){.kind = RECORDING_NOTHING}; /* no bytes, at 0: below goes on to the first */
        }
        size_t left = (size_t)(r->line.len - r->taken), part = left < cap - n ? left : cap - n;
        memcpy(buf + n, r->line.bytes + r->taken, part);
        n += part;
        r->taken = (uint8_t)(r->taken + part);
        if (r->taken < r->line.len)
            break; /* buf is full within a line */
        r->taken = 0;
        if (next_line(r->file, &r->next, r->line.at, &r->line, &number))
            return DRIVER_SYSTEM; /* it was right at opening: somebody writes to it */
    }
    return (int)n;
}

static uint64_t replay_wake(const struct port *p)
{
    const struct replay *r = (const struct replay *)(const void *)p->private_state;
    return r->begun ? r->start + r->line.at : 1; /* 1: at once; 0 would mean never */
}

const struct driver driver_replay = {
    .name = "replay",
    .forms = "replay:FILE, a recording that listen --capture has written",
    .takes = 1u << FORM_LINES | 1u << FORM_REPORTS | 1u << FORM_REGISTERS,
    .claims = replay_claims,
    .open = replay_open,
    .watch = replay_watch,
    .feed = replay_feed,
    .send = NULL, /* a recording does not listen */
    .wake = replay_wake,
    .close = replay_close,
};
