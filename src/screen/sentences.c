/* Sentences: the one place where codes become words for people. Each says what is so and what to do next, in words that
 * can be understood at five in the morning. {words} in braces are filled in by fields.c. */
#include "screen/sentences.h"

/* Within a code the first row whose condition holds is taken. */
static const struct sentence prompts[] = {
    {ASK_PERSON, WHEN_ALWAYS, "Who is weighing? Type or scan your code."},
    {ASK_LOT, WHEN_ALWAYS, "Which lot of {name}? Scan it, pick it or type it."},
    {ASK_CLEAR, WHEN_NO_ITEM, "Take everything off {scale}. It must show zero before the batch goes on."},
    {ASK_CLEAR, WHEN_ALWAYS, "Take everything off {scale} and wait until it shows zero."},
    {ASK_CONTAINER, WHEN_ASKED, "Is that {cup} empty and clean? Say yes, or put an empty one on {scale}."},
    {ASK_CONTAINER, WHEN_BACK, "Put the part-filled {cup} of {name} back on {scale} and let go."},
    {ASK_CONTAINER, WHEN_BAG, "Put the full bag of {name} on {scale} and let go."},
    {ASK_CONTAINER, WHEN_EMPTY_KNOWN, "Put the empty {cup} ({empty}) on {scale} and let go."},
    {ASK_CONTAINER, WHEN_ALWAYS, "Put the empty {cup} on {scale} and let go."},
    {ASK_FILL, WHEN_UNPLANNED, "Fill the {cup} with {name}, any weight, then let go."},
    {ASK_FILL, WHEN_BAG, "Take {target} of {name} out of the bag ({low} to {high} is good)."},
    {ASK_FILL, WHEN_ALWAYS, "Put in {name} up to {target} ({low} to {high} is good)."},
    {ASK_MORE, WHEN_ALWAYS, "Is there another lug of {name}?"},
    {ASK_OVER, WHEN_BAG, "Too much {name} is out. Put {take} back into the bag."},
    {ASK_OVER, WHEN_ALWAYS, "Too much {name}. Take out {take}."},
    {ASK_UNDER, WHEN_ALWAYS, "At least {short} of {name} is missing. Put more in, or pick what to do."},
    {ASK_ADD, WHEN_TEXT, "Put into the mixer now: {items}. {text} Say yes when it is in."},
    {ASK_ADD, WHEN_ALWAYS, "Put into the mixer now: {items}. Say yes when it is in."},
    {ASK_CONFIRM, WHEN_DECLARED, "{basis} of meat is declared; all else is worked out from it. Is that right?"},
    {ASK_CONFIRM, WHEN_BASIS, "The meat weighs {basis}; all else is worked out from it. Is that all the meat?"},
    {ASK_CONFIRM, WHEN_SECOND, "A second person looks at {net} of {name} and gives their own code."},
    {ASK_CONFIRM, WHEN_AGAIN, "Look at it once more, best with a second person: {net} of {name}. Is that right?"},
    {ASK_CONFIRM, WHEN_TUB, "The tub weighs what was put into it. Go on?"},
    {ASK_CONFIRM, WHEN_EMPTY, "Take everything off {scale}; it must show zero. Is it empty, with nothing on it?"},
    {ASK_CONFIRM, WHEN_CHANGED, "{name}: {net} stood there in the end. Was the accepted weight right all the same?"},
    {ASK_CONFIRM, WHEN_REASON, "{net} of {name}, but no scale here is fit for so much or so little. Why keep it?"},
    {ASK_CONFIRM, WHEN_TYPED, "{net} of {name}, typed by hand. Is that right?"},
    {ASK_CONFIRM, WHEN_ALWAYS, "{net} of {name}. Accept it?"},
    {ASK_CHECK, WHEN_OUTSIDE, "That is out of its limits. Measure once more: {text} ({limits})"},
    {ASK_CHECK, WHEN_ALWAYS, "{text} ({limits})"},
    {ASK_INSTRUCTION, WHEN_ALWAYS, "{text}"},
    {ASK_RESUME, WHEN_RETRY, "The last entry could not be stored. See to the disk, then say yes: it is tried again."},
    {ASK_RESUME, WHEN_HELD_MAY, "Batch {batch} is held, its product withheld. Release it and go on?"},
    {ASK_RESUME, WHEN_HELD,
     "Batch {batch} is held. Somebody with the right to release it must sign in; or stop or abort it."},
    {ASK_RESUME, WHEN_HELD_ALONE,
     "Batch {batch} is held. Without a people file nobody may release it: stop it or abort it."},
    {ASK_RESUME, WHEN_ALWAYS, "Batch {batch} was interrupted. Go on with it?"},
    {0, 0, NULL},
};

static const struct sentence notices[] = {
    {NOTICE_SILENT, WHEN_ALWAYS, "{Scale} sends nothing. Is it switched on, and is its cable in at both ends?"},
    {NOTICE_UNPLUGGED, WHEN_WHY, "{Scale} is unplugged. Plug it in again."},
    {NOTICE_UNPLUGGED, WHEN_ALWAYS, "{Scale} is unplugged. Plug it in again; what was recorded is safe."},
    {NOTICE_BACK, WHEN_ALWAYS, "{Scale} is back."},
    {NOTICE_UNIT, WHEN_ALWAYS, "{Scale} shows a unit that is not known here. Switch it to the unit it had before."},
    {NOTICE_MOTION, WHEN_ALWAYS,
     "{Scale} says it is moving, yet its figures stand still. Look at it before you accept."},
    {NOTICE_ZERO, WHEN_ALWAYS,
     "{Scale} is not at zero. If it is empty: its own zero key, or else switch it off and on."},
    {NOTICE_CONTAINER, WHEN_LIGHTER,
     "That weighs {seen}, less than the {cup} did empty: not the one that belongs here. Take it off."},
    {NOTICE_CONTAINER, WHEN_ALWAYS,
     "That weighs {seen}: not the {cup} that belongs here. Is it the right one, and clean?"},
    {NOTICE_OVER, WHEN_ALWAYS, "{name}: {seen} too much."},
    {NOTICE_UNFIT, WHEN_ALWAYS, "No scale here is fit to weigh {name}. Ask the supervisor."},
    {NOTICE_LIMIT, WHEN_ALWAYS, "{name}: this is above the lawful limit and can't be accepted. Ask the supervisor."},
    {NOTICE_STORE, WHEN_ALWAYS,
     "It could not be written to the journal, so it does not count yet. Ask the supervisor."},
    {NOTICE_TARED, WHEN_ALWAYS,
     "{Scale} was tared at its own keys. Clear its tare there; the station does the taring."},
    {NOTICE_LOST, WHEN_ALWAYS,
     "{Scale} shows zero, yet the {cup} stood there: it may have zeroed it away. Take everything off."},
    {NOTICE_FILLED, WHEN_ALWAYS, "That weighs {seen}, as much as one that was filled before. Was it emptied?"},
    {NOTICE_LIGHTER, WHEN_ALWAYS,
     "The {cup} is {seen} lighter than when it was tared. Was a hand on it? Empty it; it is tared anew."},
    {NOTICE_CHANGED, WHEN_ALWAYS,
     "{name} was accepted, then its weight changed by {seen}. Did a hand or a tool lie on it?"},
    {NOTICE_LOADED, WHEN_ALWAYS,
     "{seen} lies on {scale}. Take it off and clean the plate; if nothing is there, press its own zero key."},
    {NOTICE_DRIFT, WHEN_ALWAYS,
     "{Scale} shows {seen} when empty. That is allowed for; clean it and press its own zero key."},
    {NOTICE_KEYS, WHEN_ALWAYS,
     "{Scale} went to zero at once: was it tared or zeroed at its own keys? Take everything off."},
    {NOTICE_FACTOR, WHEN_ALWAYS,
     "{Scale} jumped as if it now showed another unit. Switch it back to the unit it had before."},
    {NOTICE_CONVERTED, WHEN_ALWAYS,
     "{Scale} was switched to another unit. Its weights are converted; the figures here stay right."},
    {NOTICE_OVERLOAD, WHEN_ALWAYS,
     "More lies on {scale} than it can weigh. Take something off at once: it can be damaged."},
    {NOTICE_GARBLED, WHEN_ALWAYS,
     "{Scale} sends what can't be read. Look at its cable, its speed and parity, and its profile."},
    {NOTICE_SELDOM, WHEN_ALWAYS,
     "{Scale} sends too seldom, or much of it is lost: no weight can settle. Look at its cable and its settings."},
    {NOTICE_BUSY, WHEN_ALWAYS, "Another program holds the line of {scale}. End that one; it is then taken up again."},
    {NOTICE_UNUSABLE, WHEN_ALWAYS, "{Scale} can't be used yet."},
    {NOTICE_ELSEWHERE, WHEN_ALWAYS,
     "{seen} was put on {scale}: that is not the one for {name}. Take it off and look which scale is named."},
    {NOTICE_COARSE, WHEN_ALWAYS,
     "{Scale} now shows a unit too coarse for this weighing. Switch it to the unit it had before."},
    {0, 0, NULL},
};

static const struct sentence refusals[] = {
    {REFUSED_EARLY, WHEN_ALWAYS, "Too early: that came before the question could be read. Answer again."},
    {REFUSED_CLOSED, WHEN_ALWAYS, "That question is no longer open. Look at the one that is."},
    {REFUSED_WORD, WHEN_ALWAYS, "That is no answer to this question."},
    {REFUSED_VALUE, WHEN_TOO_LONG, "That is too long: at most {room} letters fit, fewer with accents. Say it shorter."},
    {REFUSED_VALUE, WHEN_ASKS_LOT, "That is no lot. Read it from the label once more."},
    {REFUSED_VALUE, WHEN_ASKS_NUMBER, "A number is wanted, such as 3.5."},
    {REFUSED_VALUE, WHEN_ASKS_CODE, "A person's code is wanted: initials or number."},
    {REFUSED_VALUE, WHEN_ASKS_ITEM, "That is none of what goes in now. Give the number before its name in the list."},
    {REFUSED_VALUE, WHEN_ASKS_LUG, "That is none of the lugs. Give the number before its name in the list."},
    {REFUSED_VALUE, WHEN_ALWAYS, "The value is missing, too large or not of its form. Masses need a unit: 12.5 g."},
    {REFUSED_MOVING, WHEN_ALWAYS, "The weight was still moving. Let go, wait until it stands still, answer again."},
    {REFUSED_STALE, WHEN_ALWAYS, "There is no fresh weight from the scale. Wait for it, or look at its cable."},
    {REFUSED_BAND, WHEN_ALWAYS, "The weight is outside its band. Put in or take out what is asked."},
    {REFUSED_LIMIT, WHEN_ALWAYS, "That is above the lawful limit. It can't be accepted by anybody."},
    {REFUSED_RIGHT, WHEN_ALWAYS, "You may not decide this. Ask somebody who may."},
    {REFUSED_PERSON, WHEN_ASKS_OTHER, "That code is not known here, or it is the same person again."},
    {REFUSED_PERSON, WHEN_ALWAYS, "That code is not known here. Give your initials or your number."},
    {REFUSED_PAUSED, WHEN_ALWAYS, "The batch is paused. Go on first."},
    {REFUSED_LIVE, WHEN_ALWAYS, "The scale is working, so a typed weight is not taken. Let the scale weigh it."},
    {REFUSED_STORING, WHEN_ALWAYS, "The last answer is still being written to the journal. Wait a moment."},
    {REFUSED_UNFIT, WHEN_ALWAYS, "No scale here is fit for it. Ask the supervisor."},
    {REFUSED_FULL, WHEN_CONFIRMS, "That is more than one batch can take (9223 kg, or its weighings). Make two of it."},
    {REFUSED_FULL, WHEN_ALWAYS, "This batch has no room for another weighing. Finish with what there is."},
    {REFUSED_TUB, WHEN_ALWAYS, "The tub does not weigh what was put into it. Look for a spill, or ask the supervisor."},
    {REFUSED_EMPTY, WHEN_ALWAYS,
     "It is not empty and at zero. Take everything off; if it is empty, press its own zero key."},
    {0, 0, NULL},
};

static const struct sentence states[] = {
    {BATCH_IDLE, WHEN_ALWAYS, "Nothing is being weighed."},
    {BATCH_RUNNING, WHEN_ALWAYS, "The batch is running."},
    {BATCH_PAUSED, WHEN_ALWAYS, "The batch is paused. Nothing is lost; go on when you are back."},
    {BATCH_HELD, WHEN_ALWAYS, "The batch is held: nothing of it leaves until a named person has decided."},
    {BATCH_COMPLETE, WHEN_ALWAYS, "The batch is complete."},
    {BATCH_STOPPED, WHEN_ALWAYS, "The batch is stopped. What was recorded stays."},
    {BATCH_ABORTED, WHEN_ALWAYS, "The batch is aborted. What was recorded stays; don't use what was weighed."},
    {0, 0, NULL},
};

/* By the exit code. */
static const struct sentence ends[] = {
    {0, WHEN_ALWAYS, "Done."},
    {1, WHEN_ALWAYS, "Ended before the batch was complete."},
    {2, WHEN_ALWAYS, "Ended: the command was not understood."},
    {3, WHEN_ALWAYS, "Ended: a file is wrong."},
    {4, WHEN_ALWAYS, "Ended: a scale can't be used."},
    {5, WHEN_ALWAYS, "Ended: the journal can't be used."},
    {0, 0, NULL},
};

static const struct sentence notes[] = {
    {REC_STARTED, WHEN_ALWAYS, "Batch {batch} has begun."},
    {REC_SIGNED_IN, WHEN_ALWAYS, "{person} is weighing now."},
    {REC_LOT, WHEN_ALWAYS, "{name} comes from lot {lot}."},
    {REC_TARED, WHEN_ALWAYS, "The {cup} weighs {tare} empty."},
    {REC_WEIGHED, WHEN_OVER, "{net} of {name}, above its band: {reason}."},
    {REC_WEIGHED, WHEN_UNDER, "{net} of {name}, below its band: {reason}."},
    {REC_WEIGHED, WHEN_TYPED, "{net} of {name}, typed by hand."},
    {REC_WEIGHED, WHEN_ALWAYS, "{net} of {name}."},
    {REC_STAGED, WHEN_ALWAYS, "{name} is set aside."},
    {REC_MORE, WHEN_NEXT, "Another lug of {name}."},
    {REC_MORE, WHEN_ALWAYS, "That was all of {name}."},
    {REC_BASIS, WHEN_ALWAYS, "All else is worked out from {net} of meat."},
    {REC_TUB, WHEN_ALWAYS, "The tub weighs what was put into it."},
    {REC_DISCARDED, WHEN_IN_TUB, "The tub is thrown away with all that is in it; each is weighed again."},
    {REC_DISCARDED, WHEN_ALONG,
     "{net} of {name} is thrown away, and with it what else lies in that {cup}; it is weighed again."},
    {REC_DISCARDED, WHEN_ALWAYS, "{net} of {name} is thrown away; it is weighed again."},
    {REC_ADDED, WHEN_ALWAYS, "It is in the mixer."},
    {REC_INSTRUCTED, WHEN_ALWAYS, "Done: {text}"},
    {REC_CHECKED, WHEN_ALWAYS, "{value} is noted."},
    {REC_STATE, WHEN_ALWAYS, "The batch is {state}."},
    {REC_UNTARED, WHEN_ALWAYS, "The {cup} is tared anew."},
    {REC_EMPTIED, WHEN_ALWAYS, "{Scale} is empty and at zero."},
    {0, 0, NULL},
};

static const struct sentence hellos[] = {
    {true, WHEN_ALWAYS, "Batch {batch} was interrupted and can go on."},
    {false, WHEN_ALWAYS, "A new batch."},
    {0, 0, NULL},
};

/* By enum flow_cue. */
static const struct sentence cues[] = {
    {CUE_EASE, WHEN_ALWAYS, "Ease off: the target is near."},
    {CUE_STOP, WHEN_ALWAYS, "Stop now: what is on its way fills it up."},
    {0, 0, NULL},
};
static const struct sentence cue_signs[] = {
    {CUE_EASE, WHEN_ALWAYS, "▽  ease off  ▽"},
    {CUE_STOP, WHEN_ALWAYS, "■  STOP NOW  ■"},
    {0, 0, NULL},
};

/* In the full screen the text or the names stand large above it already. */
static const struct sentence below_text[] = {
    {ASK_INSTRUCTION, WHEN_ALWAYS, "Do this. Press Enter when it is done."},
    {ASK_ADD, WHEN_ALWAYS, "Put this into the mixer now. Press Enter when it is in."},
    {0, 0, NULL},
};

/* Asked once more before it is done. */
static const struct sentence sures[] = {
    {ANSWER_STOP, WHEN_ALWAYS, "Stop this batch for good? What was recorded stays."},
    {ANSWER_ABORT, WHEN_ALWAYS, "Abort this batch for good? What was weighed must not be used."},
    {0, 0, NULL},
};

static const char *find(const struct sentence *table, unsigned code, const struct say *s)
{
    for (const struct sentence *row = table; row->text; row++)
        if (row->code == code && say_when(s, (enum when)row->when))
            return row->text;
    return "";
}

static const char *pattern(const struct say *s)
{
    switch (s->kind) {
    case SAY_HELLO:
        return find(hellos, s->resumed, s);
    case SAY_PROMPT:
        return s->prompt ? find(prompts, s->prompt->ask, s) : "";
    case SAY_RECORDED:
    case SAY_NOTED:
        return s->record ? find(notes, s->record->kind, s) : "";
    case SAY_NOTICE:
        return s->effect ? find(notices, s->effect->code, s) : "";
    case SAY_REFUSED:
        return s->effect ? find(refusals, s->effect->code, s) : "";
    case SAY_STATE:
        return s->effect ? find(states, s->effect->code, s) : "";
    case SAY_CUE:
        return find(cues, s->cue, s);
    case SAY_END:
        return s->effect ? find(ends, s->effect->code, s) : "";
    default:
        return "";
    }
}

size_t say_sentence(const struct say *s, char *buf, size_t cap)
{
    struct text t;
    text_begin(&t, buf, cap);
    say_fill(s, pattern(s), &t);
    if (s->why && s->why[0]) {
        text_put(&t, " ");
        text_clean(&t, s->why);
    }
    return t.len;
}

static const struct say nothing; /* for rows that always hold */

const char *person_sentence(void)
{
    return find(prompts, ASK_PERSON, &nothing);
}

const char *paused_sentence(void)
{
    return find(states, BATCH_PAUSED, &nothing);
}

const char *sure_sentence(uint8_t word)
{
    return find(sures, word, &nothing);
}

const char *no_cue_words(bool agreeing)
{
    return agreeing ? "at rest: 2 lines agree" : "no cue on this scale";
}

const char *cue_words(uint8_t cue)
{
    return find(cue_signs, cue, &nothing);
}

const char *below_text_sentence(uint8_t ask)
{
    return find(below_text, ask, &nothing);
}
