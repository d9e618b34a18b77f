/* Station: the one loop. Scales and answers in, the sequence in the middle, journal and screen out.
 *
 * One thread. It sleeps in poll() on the scales' descriptors, the standard input and a signal descriptor, until the next
 * moment at which a scale or the sequence wants to be called. */
#ifndef STATION_STATION_H
#define STATION_STATION_H

#include "files/files.h"
#include "screen/screen.h"
#include "station/feeder.h"
#include "station/tape.h"
#include "store/payload.h"
#include "store/store.h"

/* What the command line said. Strings are argv's. */
struct weigh_arguments {
    const char *formula; /* path or name of a shipped one */
    const char *station; /* NULL: none */
    const char *journal; /* NULL: the default place */
    const char *person;  /* NULL: ask */
    const char *capture; /* NULL: no capture */
    const char *replay;  /* NULL: live */
    const char *scales[CAP_SCALES];
    uint8_t scale_count;
    bool has_meat, readings;
    mass_pg meat;
    unsigned batches; /* 1.. */
    uint8_t face;     /* enum screen_kind */
};

struct kept_text {
    char hash[65]; /* "" = no such file */
    struct file_text file;
};

struct weigher {
    const struct weigh_arguments *args;
    /* files, in core's types */
    struct formula formula;
    struct station station;
    struct people people;
    struct limit limits[CAP_INGREDIENTS];
    struct profile profiles[CAP_SCALES];
    struct scale_setup scale_setups[CAP_SCALES];
    mass_pg cup_empty[CAP_INGREDIENTS], cup_off[CAP_INGREDIENTS];
    struct kept_text formula_text, station_text, limits_text, people_text;
    struct setup setup;
    struct faults faults;
    uint8_t lang;
    /* the batch */
    struct sequence seq;
    struct item items[CAP_ITEMS];
    uint16_t order[CAP_ITEMS];
    char batch[STORE_BATCH], last_batch[STORE_BATCH], last_state[16];
    bool resumed;
    unsigned batches_left;
    /* in and out */
    struct feeder feeders[CAP_SCALES];
    struct store *store;    /* NULL in a replay */
    struct store_head head; /* replay: where the chain stands */
    struct screen screen;
    struct view view;
    struct tape tape;
    int signals; /* signalfd */
    /* this wake-up */
    uint64_t now;                   /* monotonic microseconds */
    int64_t utc;                    /* microseconds since 1970 */
    uint32_t wake;                  /* its number */
    uint32_t lines;                 /* said so far */
    uint32_t prompt_n, prompt_wake; /* line number of the open prompt; the wake-up that opened it */
    bool ended, reader_gone;
    int exit_code;
    char notice[260]; /* newest trouble, for the full screen */
    uint8_t notice_weight;
    uint32_t notice_prompt;
    bool notice_refusal; /* it was a refusal: over as soon as an answer is taken */
    bool notice_load;    /* it asks for a platform that is empty and at zero: over as soon as it is */
    int64_t view_minute; /* of the clock that the view shows */
    char payload[PAYLOAD_MAX];
};

/* Runs it to its end; the exit code of the contract. Errors are said on standard error. */
int station_weigh(const struct weigh_arguments *args);

#endif
