/* Sentences: the table's row, and the two questions that it asks of a say (fields.c). */
#ifndef SCREEN_SENTENCES_H
#define SCREEN_SENTENCES_H

#include "screen/say.h"
#include "screen/text.h"

/* When a row holds. */
enum when {
    WHEN_ALWAYS,
    WHEN_NO_ITEM,
    WHEN_BACK,
    WHEN_BAG,
    WHEN_EMPTY_KNOWN,
    WHEN_UNPLANNED,
    WHEN_REASON,      /* it is taken with a reason only */
    WHEN_TOO_LONG,    /* the answer was */
    WHEN_ASKS_LOT,    /* the prompt that was answered takes a lot */
    WHEN_ASKS_NUMBER, /* a number */
    WHEN_ASKS_ITEM,   /* an item of an addition */
    WHEN_ASKS_LUG,    /* a lug of the basis */
    WHEN_ASKS_CODE,   /* a person's code */
    WHEN_ASKS_OTHER,  /* another person's code */
    WHEN_CONFIRMS,    /* a yes to a weight */
    WHEN_OUTSIDE,     /* a check: the value before was out of its limits */
    WHEN_BASIS,
    WHEN_DECLARED, /* the basis, which nobody weighed */
    WHEN_WHY,      /* more words follow */
    WHEN_LIGHTER,  /* the item's container is tared: another one stands there */
    WHEN_SECOND,
    WHEN_RETRY,
    WHEN_HELD_MAY,   /* a held batch that this person may release */
    WHEN_HELD,       /* one that another person may */
    WHEN_HELD_ALONE, /* nobody signs in here: nobody may */
    WHEN_AGAIN,
    WHEN_TUB,
    WHEN_EMPTY,
    WHEN_CHANGED,
    WHEN_TEXT,  /* the formula has words for this step */
    WHEN_ASKED, /* a container is asked about */
    WHEN_TYPED,
    WHEN_OVER,
    WHEN_UNDER,
    WHEN_NEXT,   /* another item follows */
    WHEN_IN_TUB, /* the item is, or was to be, in the common tub */
    WHEN_ALONG,  /* a portion of another lot lies in the same container */
};

struct sentence {
    uint8_t code; /* of the table's enum */
    uint8_t when; /* enum when */
    const char *text;
};

bool say_when(const struct say *s, enum when when);
/* The pattern with its {fields} filled in. A field that is not known says nothing. */
void say_fill(const struct say *s, const char *pattern, struct text *out);
/* What stands below a paused batch. */
const char *paused_sentence(void);
/* Who is weighing: also while another prompt is open. */
const char *person_sentence(void);
/* What is asked once more before a batch is stopped (ANSWER_STOP) or aborted (ANSWER_ABORT). */
const char *sure_sentence(uint8_t word);
/* A cue (enum flow_cue) in two words between its signs, as the full screen shows it; "" for none. */
const char *cue_words(uint8_t cue);
/* What stands in its place where the scale sends too seldom for one. */
const char *no_cue_words(bool agreeing);
/* What to do about a text that stands large above (full screen); "" where the prompt's own sentence says it. */
const char *below_text_sentence(uint8_t ask);

#endif
