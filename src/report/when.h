/* When: moments as text. */
#ifndef REPORT_WHEN_H
#define REPORT_WHEN_H

#include <stdint.h>

#define WHEN_TEXT 40

/* RFC 3339 in UTC with microseconds: 2026-11-25T06:12:03.250000Z. */
void when_utc(int64_t utc_us, char out[WHEN_TEXT]);
/* For people, to the second: "2026-11-25 06:12:03" in UTC; "07:12:03 CET" in the machine's zone, its date before it where
 * that is another day than in UTC. */
void when_read_utc(int64_t utc_us, char out[WHEN_TEXT]);
void when_read_local(int64_t utc_us, char out[WHEN_TEXT]);
/* Hours and minutes, seconds too, in the machine's zone: "07:12:03". */
void when_clock(int64_t utc_us, char out[WHEN_TEXT]);

#endif
