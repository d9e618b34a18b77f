/* Tape: lines out, lines in. What they mean is replay.c's, resume.c's and journal.c's. */
#include "station/tape.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TAPE_HEAD "tareline-capture 1"

/* A new file, an empty one, or an older capture: a slip of the hand after --capture must not cost a formula or a journal. */
static bool may_be_replaced(FILE *f)
{
    char head[sizeof TAPE_HEAD] = "";
    size_t n = fread(head, 1, sizeof TAPE_HEAD - 1, f);
    return n == 0 || !strcmp(head, TAPE_HEAD);
}

bool tape_create(struct tape *t, const char *path, char *why, size_t cap)
{
    struct stat st;
    memset(t, 0, sizeof *t);
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    t->file = fd < 0 ? NULL : fdopen(fd, "r+");
    bool plain = t->file && fstat(fd, &st) == 0 && S_ISREG(st.st_mode);
    if (plain && !may_be_replaced(t->file)) {
        snprintf(why, cap, "%s is there already and is no capture; name a new file with --capture", path);
        tape_close(t);
        return false;
    }
    if (!t->file || (plain && ftruncate(fd, 0) != 0)) {
        snprintf(why, cap, "%s: the capture can't be written there: %s; name another file with --capture", path,
                 strerror(errno));
        tape_close(t);
        return false;
    }
    rewind(t->file);
    tape_write(t, "%s", TAPE_HEAD);
    return true;
}

bool tape_open(struct tape *t, const char *path, char *why, size_t cap)
{
    memset(t, 0, sizeof *t);
    t->reading = true;
    t->file = fopen(path, "re");
    if (!t->file) {
        snprintf(why, cap, "%s: can't be read: %s", path, strerror(errno));
        return false;
    }
    const char *head = tape_next(t);
    if (head && !strcmp(head, TAPE_HEAD))
        return true;
    snprintf(why, cap, "%s:1: this is not a capture; its first line should be \"%s\"", path, TAPE_HEAD);
    tape_close(t);
    return false;
}

void tape_close(struct tape *t)
{
    if (t->file && fclose(t->file) != 0)
        t->broken = true;
    t->file = NULL;
}

/* Buffered and never synced, unlike the journal: the capture is a help, and a kill may cost its end. A full disk is told when
 * the run is over; weighing goes on. */
void tape_write(struct tape *t, const char *format, ...)
{
    va_list args;
    if (!t->file || t->reading)
        return;
    va_start(args, format);
    if (vfprintf(t->file, format, args) < 0 || fputc('\n', t->file) == EOF)
        t->broken = true;
    va_end(args);
}

void tape_to_hex(const uint8_t *bytes, size_t n, char *out)
{
    static const char digits[] = "0123456789abcdef";
    for (size_t k = 0; k < n; k++) {
        out[2 * k] = digits[bytes[k] >> 4];
        out[2 * k + 1] = digits[bytes[k] & 15];
    }
    out[2 * n] = '\0';
}

void tape_write_hex(struct tape *t, const char *head, const uint8_t *bytes, size_t n)
{
    char hex[2 * TAPE_BYTES + 1];
    if (!t->file || n > TAPE_BYTES)
        return;
    tape_to_hex(bytes, n, hex);
    tape_write(t, "%s %s", head, hex);
}

void tape_write_text(struct tape *t, const char *role, const char *path, const char *text, size_t len)
{
    if (!t->file || t->reading)
        return;
    tape_write(t, "text %s %zu %s", role, len, path);
    if (fwrite(text, 1, len, t->file) != len || fputc('\n', t->file) == EOF)
        t->broken = true;
}

const char *tape_next(struct tape *t)
{
    if (t->held) {
        t->held = false;
        return t->line;
    }
    if (!t->file || !fgets(t->line, sizeof t->line, t->file))
        return NULL;
    t->line_number++;
    t->line[strcspn(t->line, "\n")] = '\0';
    return t->line;
}

void tape_hold(struct tape *t)
{
    t->held = true;
}

/* Another line is put back: optional lines are asked for one after the other. */
const char *tape_expect(struct tape *t, const char *word)
{
    const char *line = tape_next(t);
    size_t n = strlen(word);
    if (line && !strncmp(line, word, n) && (line[n] == ' ' || !line[n]))
        return line[n] ? line + n + 1 : line + n;
    if (line)
        tape_hold(t);
    return NULL;
}

long tape_read_text(struct tape *t, const char *role, char *path, size_t path_cap, char *text, size_t cap)
{
    const char *rest = tape_expect(t, "text");
    size_t n = strlen(role);
    if (!rest)
        return -1;
    if (strncmp(rest, role, n) != 0 || rest[n] != ' ') {
        tape_hold(t);
        return -1;
    }
    char *end;
    unsigned long len = strtoul(rest + n + 1, &end, 10);
    if (path)
        snprintf(path, path_cap, "%s", *end ? end + 1 : end);
    if (len >= cap || fread(text, 1, len, t->file) != len || fgetc(t->file) != '\n') {
        t->broken = true;
        return -1;
    }
    text[len] = '\0';
    return (long)len;
}

bool tape_int(const char **rest, int64_t *out)
{
    char *end;
    errno = 0;
    long long value = strtoll(*rest, &end, 10);
    if (end == *rest || errno || (*end && *end != ' '))
        return false;
    *out = value;
    *rest = *end ? end + 1 : end;
    return true;
}

bool tape_word(const char **rest, char *out, size_t cap)
{
    size_t n = strcspn(*rest, " ");
    if (n == 0 || n >= cap)
        return false;
    memcpy(out, *rest, n);
    out[n] = '\0';
    *rest += n + ((*rest)[n] == ' ');
    return true;
}

static int digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return -1;
}

int tape_hex(const char *hex, uint8_t *out, size_t cap)
{
    size_t n = 0;
    while (hex[0] && hex[0] != ' ') {
        int high = digit(hex[0]), low = high < 0 ? -1 : digit(hex[1]);
        if (low < 0 || n == cap)
            return -1;
        out[n++] = (uint8_t)(high * 16 + low);
        hex += 2;
    }
    return (int)n;
}
