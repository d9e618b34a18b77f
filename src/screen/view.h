/* View model: all that an operator sees at one moment, as plain data. Made by src/station, drawn by src/screen. */
#ifndef SCREEN_VIEW_H
#define SCREEN_VIEW_H

#include "core/sequence.h"

#define VIEW_DOCKET 24
#define VIEW_CHOICES 9

struct view_scale {
    char name[CAP_KEY];
    char shows[MASS_TEXT_MAX]; /* what its own display should show now, with its unit; "" = no weight */
    uint8_t link;              /* enum link_state; NOISE: silent, for nothing that comes can be read */
    uint8_t settled;           /* enum settle_state */
    uint8_t reading;           /* enum reading_state of the newest reading */
    bool wanted;               /* the current step is on this scale */
    bool doubt;                /* must be proved at zero */
};
struct view_line { /* one line of the docket, newest last */
    uint16_t item;
    char name[CAP_NAME];
    char lot[CAP_LOT];
    mass_pg net, target;
    uint8_t unit, places;            /* to show them in */
    uint8_t verdict, manner, status; /* enum verdict, manner, item_status */
    bool has_target;
};
/* What a digit picks: a lot, a reason, or an answer. */
struct view_choice {
    uint8_t word;          /* enum answer_word */
    char text[CAP_REASON]; /* its value; "" for a bare word, or where the word wants a value: one that is typed now */
};

/* Names, texts, bin, lot, choices and docket change only when another prompt opens: with prompt.id or prompt_n. */
struct view {
    uint64_t at; /* monotonic microseconds at which it was made: the same clock as screen_answer's `now` */
    char formula[CAP_NAME], batch[40], person[CAP_PERSON];
    char clock[24];       /* local wall time "06:12" */
    uint8_t state;        /* enum batch_state */
    uint16_t step, steps; /* place in the work list, 1-based */
    struct prompt prompt; /* ask, masses, allowed answers */
    uint32_t prompt_n;    /* its line number */
    char title[CAP_NAME]; /* ingredient, or what the step is */
    char text[CAP_TEXT];  /* instruction or check */
    char check_unit[8];
    int32_t low_milli, high_milli; /* CHECK_NONE = no limit */
    char lot[CAP_LOT];
    uint16_t bin;  /* 0 = none */
    bool may_type; /* this person may type a weight while the scale is dead */
    bool has_net;  /* a fresh net on the wanted scale */
    bool settled;
    bool seldom;         /* the wanted scale sends too seldom to be followed: no pointer, no cue */
    bool agreeing;       /* and two of its lines that agree stand for rest */
    bool rests;          /* FILL: a yes would be taken now, and wait until the weight is settled */
    bool waits;          /* one does */
    uint8_t cue;         /* enum flow_cue */
    uint64_t offered_at; /* since when a yes to this weight is taken, whatever the prompt; 0 = it is not */
    mass_pg net, division;
    uint8_t unit, places;  /* the unit and decimals that the wanted scale shows */
    char sentence[200];    /* the next thing to do */
    char notice[260];      /* newest trouble or refusal; "" = none */
    uint8_t notice_weight; /* 0 none, 1 information, 2 abnormal, 3 danger */
    uint8_t scale_count, line_count, choice_count;
    struct view_scale scales[CAP_SCALES];
    struct view_line lines[VIEW_DOCKET]; /* the newest ones */
    struct view_choice choices[VIEW_CHOICES];
    struct view_line adds[VIEW_DOCKET]; /* ADD: what goes in now */
    uint16_t add_count, adds_left;      /* and how many more there was no room for */
};

#endif
