/* When: see when.h. Entries carry UTC; the machine's zone is only for people, and a record is the same in every zone. */
#include <inttypes.h>
#include <stdio.h>
#include <time.h>

#include "report/when.h"

/* Seconds rounded down, so that moments before 1970 (a clock never set) come out right too. */
static time_t seconds_of(int64_t utc_us, int64_t *rest)
{
    int64_t seconds = utc_us / 1000000;
    *rest = utc_us % 1000000;
    if (*rest < 0) {
        *rest += 1000000;
        seconds--;
    }
    return (time_t)seconds;
}

static struct tm utc_of(int64_t utc_us, int64_t *rest)
{
    struct tm tm = {0};
    time_t t = seconds_of(utc_us, rest);
    gmtime_r(&t, &tm);
    return tm;
}

static struct tm local_of(int64_t utc_us)
{
    struct tm tm = {0};
    int64_t rest;
    time_t t = seconds_of(utc_us, &rest);
    localtime_r(&t, &tm);
    return tm;
}

void when_utc(int64_t utc_us, char out[WHEN_TEXT])
{
    int64_t rest;
    struct tm tm = utc_of(utc_us, &rest);
    size_t n = strftime(out, WHEN_TEXT, "%Y-%m-%dT%H:%M:%S", &tm);
    snprintf(out + n, WHEN_TEXT - n, ".%06" PRId64 "Z", rest);
}

void when_read_utc(int64_t utc_us, char out[WHEN_TEXT])
{
    int64_t rest;
    struct tm tm = utc_of(utc_us, &rest);
    strftime(out, WHEN_TEXT, "%Y-%m-%d %H:%M:%S", &tm);
}

/* No zone is a month off, so the day of the month tells whether it is another date. */
void when_read_local(int64_t utc_us, char out[WHEN_TEXT])
{
    int64_t rest;
    struct tm utc = utc_of(utc_us, &rest), tm = local_of(utc_us);
    strftime(out, WHEN_TEXT, utc.tm_mday == tm.tm_mday ? "%H:%M:%S %Z" : "%Y-%m-%d %H:%M:%S %Z", &tm);
}

void when_clock(int64_t utc_us, char out[WHEN_TEXT])
{
    struct tm tm = local_of(utc_us);
    strftime(out, WHEN_TEXT, "%H:%M:%S", &tm);
}
