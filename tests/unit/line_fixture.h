/* A line's shape of the tests' own, and one line of it. */
#ifndef TESTS_UNIT_LINE_FIXTURE_H
#define TESTS_UNIT_LINE_FIXTURE_H

#include "core/profile.h"

#define BYTE_US 1042 /* 10 bits at 9600 baud, rounded up */
#define LINE "S +0.250 kg\r\n"
#define LINE_LEN 13

/* status, blank, weight of 6, blank, unit of 2, CR LF */
static const struct profile line_shape = {
    .name = "test",
    .baud = 9600,
    .bits = 8,
    .stop = 1,
    .end_len = 2,
    .end = {'\r', '\n'},
    .request = {2, "R\r"},
    .tare = {2, "T\r"},
    .period_ms = 100,
    .timeout_ms = 250,
    .silent_ms = 2000,
    .decimal = '.',
    .has_motion = true,
    .field_count = 5,
    .word_count = 3,
    .fields = {{.kind = FIELD_STATUS, .width = 1},
               {.kind = FIELD_LITERAL, .len = 1, .text = " "},
               {.kind = FIELD_WEIGHT, .width = 6},
               {.kind = FIELD_LITERAL, .len = 1, .text = " "},
               {.kind = FIELD_UNIT, .width = 2}},
    .words = {{FIELD_STATUS, READING_STABLE, 1, "S"},
              {FIELD_STATUS, READING_MOVING, 1, "M"},
              {FIELD_UNIT, UNIT_KG, 2, "kg"}},
};

#endif
