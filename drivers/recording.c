/* Recording: see recording.h. */
#include <string.h>

#include "drivers/recording.h"

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* Digits at the front; how many, 0 if there are none or they do not fit. */
static size_t take_time(const char *text, size_t n, uint64_t *at)
{
    size_t i = 0;
    uint64_t v = 0;
    for (; i < n && text[i] >= '0' && text[i] <= '9'; i++) {
        unsigned digit = (unsigned)(text[i] - '0');
        if (v > (UINT64_MAX / 2 - digit) / 10) /* half: a start time is added to it */
            return 0;
        v = v * 10 + digit;
    }
    *at = v;
    return i;
}

static const char *take_bytes(const char *text, size_t n, struct recording_line *out)
{
    if (n % 2 || n == 0)
        return "an even number of hexadecimal digits after the time";
    if (n / 2 > RECORDING_BYTES)
        return "at most 64 bytes in one line";
    for (size_t i = 0; i < n; i += 2) {
        int high = hex_digit(text[i]), low = hex_digit(text[i + 1]);
        if (high < 0 || low < 0)
            return "hexadecimal digits, \"again\" or \"end\" after the time";
        out->bytes[i / 2] = (uint8_t)(high * 16 + low);
    }
    out->len = (uint8_t)(n / 2);
    out->kind = RECORDING_DATA;
    return NULL;
}

const char *recording_parse(const char *text, size_t n, struct recording_line *out)
{
    memset(out, 0, sizeof *out);
    if (n && text[n - 1] == '\r')
        n--;
    if (n == 0 || text[0] == '#')
        return NULL;
    size_t i = take_time(text, n, &out->at);
    if (i == 0 || i == n || text[i] != ' ')
        return "a time in microseconds, a blank, and bytes in hexadecimal";
    const char *rest = text + i + 1;
    size_t len = 0;
    while (len < n - i - 1 && rest[len] != ' ')
        len++;
    if (len == 5 && !memcmp(rest, "again", 5)) {
        out->kind = RECORDING_AGAIN;
        /* Each turn moves the start on by this time: at 0 a replay would never come to its end within one read. */
        return out->at < 1000 ? "a time of 1000 or more before \"again\"" : NULL;
    }
    if (len == 3 && !memcmp(rest, "end", 3)) {
        out->kind = RECORDING_END;
        return NULL;
    }
    return take_bytes(rest, len, out);
}

size_t recording_show(const uint8_t *bytes, size_t n, char *buf)
{
    static const char hex[] = "0123456789ABCDEF";
    size_t len = 0;
    for (size_t i = 0; i < n; i++) {
        if (bytes[i] >= ' ' && bytes[i] < 0x7f && bytes[i] != '<') {
            buf[len++] = (char)bytes[i];
            continue;
        }
        buf[len++] = '<';
        buf[len++] = hex[bytes[i] >> 4];
        buf[len++] = hex[bytes[i] & 15];
        buf[len++] = '>';
    }
    buf[len] = '\0';
    return len;
}

/* The bytes are in the hexadecimal; what stands behind " ;" repeats them for the eye and is not read back. A full disk
 * shows in ferror, which stays set: one look at the end is enough. */
bool recording_write(FILE *to, uint64_t at, const uint8_t *bytes, size_t n)
{
    char shown[RECORDING_SHOWN];
    for (size_t done = 0; done < n;) {
        size_t part = n - done < RECORDING_BYTES ? n - done : RECORDING_BYTES;
        fprintf(to, "%llu ", (unsigned long long)at);
        for (size_t i = 0; i < part; i++)
            fprintf(to, "%02X", bytes[done + i]);
        recording_show(bytes + done, part, shown);
        fprintf(to, " ; %s\n", shown);
        done += part;
    }
    return !ferror(to);
}
