/* Scenes: made-up views of the smokehouse's batch, for the golden screens and the screen demo. */
#ifndef TESTS_SCENES_H
#define TESTS_SCENES_H

#include <stdio.h>
#include <string.h>

#include "screen/keys.h"

#define G(x) ((mass_pg)((x)*100) * (PG_PER_G / 100)) /* grams, to hundredths */
#define BIT(word) (UINT32_C(1) << ANSWER_##word)

static const char *const scene_names[] = {"person", "lot",     "clear", "container", "fill",   "near", "over", "under",
                                          "lug",    "more",    "basis", "accept",    "second", "dead", "add",  "mix",
                                          "check",  "paused",  "sure",  "hostile",   "resume", "ease", "stop", "seldom",
                                          "empty",  "changed", "rests", "waits",     NULL};

static inline void scene_scale(struct view *v, const char *name, const char *shows, uint8_t link, uint8_t settled)
{
    struct view_scale *s = &v->scales[v->scale_count++];
    memset(s, 0, sizeof *s);
    snprintf(s->name, sizeof s->name, "%s", name);
    snprintf(s->shows, sizeof s->shows, "%s", shows);
    s->link = link;
    s->settled = settled;
}

static inline void scene_line(struct view *v, const char *name, const char *lot, mass_pg net, uint8_t verdict,
                              uint8_t status)
{
    struct view_line *l = &v->lines[v->line_count++];
    memset(l, 0, sizeof *l);
    l->item = v->line_count;
    snprintf(l->name, sizeof l->name, "%s", name);
    snprintf(l->lot, sizeof l->lot, "%s", lot);
    l->net = net;
    l->has_target = v->line_count > 3;
    l->target = v->line_count & 1 ? net - G(5) : net + G(2.5);
    l->unit = net >= G(500) ? UNIT_KG : UNIT_G;
    l->places = net >= G(500) ? 3 : 2;
    l->verdict = verdict;
    l->status = status;
}

static inline void scene_choice(struct view *v, enum answer_word word, const char *text)
{
    struct view_choice *c = &v->choices[v->choice_count++];
    c->word = (uint8_t)word;
    snprintf(c->text, sizeof c->text, "%s", text);
}

static inline void scene_say(struct view *v, const char *title, const char *sentence)
{
    snprintf(v->title, sizeof v->title, "%s", title);
    snprintf(v->sentence, sizeof v->sentence, "%s", sentence);
}

/* Curing salt, 62.50 g, on the fine scale. */
static inline void scene_cure(struct view *v, enum ask ask, mass_pg net)
{
    v->prompt = (struct prompt){.id = 9, .ask = (uint8_t)ask, .item = 12, .scale = 1, .has_band = true};
    v->prompt.target = v->prompt.high = G(62.50);
    v->prompt.low = G(62.00);
    v->prompt.net = v->net = net;
    v->has_net = true;
    v->division = G(0.01);
    v->unit = UNIT_G;
    v->places = 2;
    v->bin = 4;
    v->scales[1].wanted = true;
    snprintf(v->lot, sizeof v->lot, "PS-2211");
    scene_say(v, "Curing salt", "Put in Curing salt up to 62.50 g (62.00 g to 62.50 g is good).");
}

static inline void scene_batch(struct view *v)
{
    memset(v, 0, sizeof *v);
    snprintf(v->formula, sizeof v->formula, "Smoked bratwurst");
    snprintf(v->batch, sizeof v->batch, "20251125-1");
    snprintf(v->person, sizeof v->person, "AB");
    snprintf(v->clock, sizeof v->clock, "05:12");
    v->state = BATCH_RUNNING;
    v->step = 7;
    v->steps = 23;
    v->prompt_n = 31;
    scene_scale(v, "bench", "0.000 kg", LINK_UP, SETTLE_SETTLED);
    scene_scale(v, "fine", "0.00 g", LINK_UP, SETTLE_SETTLED);
    scene_line(v, "Pork shoulder", "S-1", G(12415), VERDICT_IN, ITEM_IN_MIXER);
    scene_line(v, "Pork shoulder", "S-1", G(11985), VERDICT_IN, ITEM_IN_MIXER);
    scene_line(v, "Pork belly", "S-4", G(8120), VERDICT_IN, ITEM_STAGED);
    scene_line(v, "Dried cranberry", "DC-9", G(3255), VERDICT_IN, ITEM_STAGED);
    scene_line(v, "Toasted hazelnut", "HN-30", G(1710), VERDICT_OVER, ITEM_STAGED);
    scene_line(v, "Salt", "", G(585), VERDICT_UNDER, ITEM_WEIGHED);
}

static inline void scene_shows(struct view *v, const char *shows, uint8_t settled)
{
    snprintf(v->scales[1].shows, sizeof v->scales[1].shows, "%s", shows);
    v->scales[1].settled = settled;
}

static inline void scene_over(struct view *v)
{
    scene_cure(v, ASK_OVER, G(70.00));
    scene_shows(v, "190.34 g", SETTLE_SETTLED);
    v->prompt.take = G(7.52);
    v->prompt.answers = BIT(KEEP) | BIT(DISCARD);
    scene_say(v, "Curing salt", "Too much Curing salt. Take out 7.52 g.");
    scene_choice(v, ANSWER_DISCARD, "");
    scene_choice(v, ANSWER_KEEP, "supervisor agreed by telephone");
    scene_choice(v, ANSWER_KEEP, "");
    snprintf(v->notice, sizeof v->notice, "Curing salt: 7.50 g too much.");
    v->notice_weight = 2;
}

static inline void scene_lot(struct view *v)
{
    v->prompt = (struct prompt){.ask = ASK_LOT, .item = 12, .answers = BIT(LOT)};
    v->bin = 4;
    scene_say(v, "Curing salt", "Which lot of Curing salt? Scan it, pick it or type it.");
    scene_choice(v, ANSWER_LOT, "PS-2211");
    scene_choice(v, ANSWER_LOT, "PS-2198");
}

static inline void scene_lug(struct view *v)
{
    scene_cure(v, ASK_FILL, G(11850));
    v->prompt.has_band = false;
    v->unit = UNIT_KG;
    v->places = 3;
    v->division = G(5);
    v->bin = 0;
    v->scales[0].wanted = true;
    v->scales[1].wanted = false;
    snprintf(v->scales[0].shows, sizeof v->scales[0].shows, "13.650 kg");
    v->scales[0].settled = SETTLE_MOVING;
    scene_say(v, "Pork shoulder", "Fill the lug with Pork shoulder, any weight, then let go.");
}

static inline void scene_plain(struct view *v, enum ask ask, uint32_t answers, const char *title, const char *sentence)
{
    v->prompt = (struct prompt){.ask = (uint8_t)ask, .item = 20, .answers = answers};
    scene_say(v, title, sentence);
}

static inline void scene_hostile(struct view *v)
{
    scene_cure(v, ASK_FILL, G(-1.25));
    scene_say(v,
              "Salt\033[2J\033[31m\xc2\x9b"
              "31m\xe2\x80\xae\xff end",
              "do \033]0;title\007 this\n\r now");
    snprintf(v->formula, sizeof v->formula,
             "\xe8\x82\x89\xe8\x85\xb8 sausage of a very long name that does not end in time");
    snprintf(v->lot, sizeof v->lot, "L\t\x1b[1;1H");
    snprintf(v->notice, sizeof v->notice, "Scale \x1b[0m says things");
    v->notice_weight = 3;
    scene_line(v, "Na\xcc\x88sse \x1b[H", "", G(1), VERDICT_IN, ITEM_DISCARDED);
}

static inline void scene_dead(struct view *v, struct keys *k)
{
    scene_cure(v, ASK_FILL, 0);
    v->has_net = false;
    scene_shows(v, "", SETTLE_SILENT);
    v->may_type = true;
    v->scales[1].link = LINK_UNPLUGGED;
    snprintf(v->notice, sizeof v->notice, "The fine scale is unplugged. Plug it in again; what was recorded is safe.");
    v->notice_weight = 2;
    k->writing = ANSWER_TYPED;
    k->typed_len = 4;
    snprintf(k->typed, sizeof k->typed, "62.3");
}

/* Asked with the platform empty; the net is still reckoned from the tare of the cup that stood there. */
static inline void scene_doubt(struct view *v, bool empty)
{
    scene_cure(v, ASK_CONFIRM, G(-120.34));
    scene_shows(v, "0.00 g", SETTLE_SETTLED);
    v->prompt.what = empty ? WHAT_EMPTY : WHAT_CHANGED;
    v->prompt.answers = empty ? BIT(YES) : BIT(YES) | BIT(DISCARD);
    v->prompt.net = G(62.12);
    v->scales[1].doubt = empty;
    scene_say(v, "Curing salt",
              empty ? "Take everything off the fine scale; it must show zero. Is it empty, with nothing on it?"
                    : "Curing salt: 62.12 g stood there in the end. Was the accepted weight right all the same?");
}

static inline void scene_adds(struct view *v)
{
    static const char *const names[] = {"Pork shoulder, trimmed", "Pork shoulder, trimmed",
                                        "Curing salt, 6.25 % nitrite"};
    for (unsigned i = 0; i < 3; i++) {
        struct view_line *l = &v->adds[v->add_count++];
        *l = v->lines[i];
        snprintf(l->name, sizeof l->name, "%s", names[i]);
    }
    v->adds[2].net = G(62.25);
    v->adds[2].unit = UNIT_G;
    v->adds[2].places = 2;
    snprintf(v->text, sizeof v->text, "Spread the cure over the meat, not in one place.");
}

static inline void scene_steps(const char *name, struct view *v, struct keys *k)
{
    if (!strcmp(name, "person")) {
        v->person[0] = 0;
        scene_plain(v, ASK_PERSON, BIT(PERSON), "", "Who is weighing? Type or scan your code.");
    } else if (!strcmp(name, "more")) {
        scene_plain(v, ASK_MORE, BIT(YES) | BIT(NO), "Pork shoulder", "Is there another lug of Pork shoulder?");
    } else if (!strcmp(name, "basis")) {
        scene_plain(v, ASK_CONFIRM, BIT(YES) | BIT(NO) | BIT(HOLD), "",
                    "The meat weighs 32.520 kg; all else is worked out from it. Is that all the meat?");
        v->prompt.what = WHAT_BASIS;
        v->prompt.basis = G(32520);
    } else if (!strcmp(name, "add")) {
        scene_plain(v, ASK_ADD, BIT(YES) | BIT(DISCARD), "",
                    "Put into the mixer now: Salt, Curing salt, Seasoning. Say yes when it is in.");
        scene_adds(v);
    } else if (!strcmp(name, "mix")) {
        scene_plain(v, ASK_INSTRUCTION, BIT(YES), "",
                    "Mix until the meat is tacky and sticks to the hand, at most six minutes.");
        snprintf(v->text, sizeof v->text, "%.150s", v->sentence);
    } else if (!strcmp(name, "check")) {
        scene_plain(v, ASK_CHECK, BIT(VALUE), "", "Temperature of the meat (at most 4.5 C)");
        snprintf(v->text, sizeof v->text, "Temperature of the meat");
        snprintf(v->check_unit, sizeof v->check_unit, "C");
        k->typed_len = 3;
        snprintf(k->typed, sizeof k->typed, "3.5");
    } else if (!strcmp(name, "resume")) {
        scene_plain(v, ASK_RESUME, BIT(YES), "", "Batch 20251125-1 was interrupted. Go on with it?");
        v->state = BATCH_PAUSED;
    }
}

static inline void scene_make(const char *name, struct view *v, struct keys *k)
{
    keys_init(k);
    scene_batch(v);
    k->prompt = v->prompt_n;
    scene_steps(name, v, k);
    if (!strcmp(name, "lot")) {
        scene_lot(v);
    } else if (!strcmp(name, "clear") || !strcmp(name, "container")) {
        scene_cure(v, name[1] == 'l' ? ASK_CLEAR : ASK_CONTAINER, 0);
        v->has_net = v->prompt.has_band = false;
        scene_say(v, "Curing salt", "Take everything off the fine scale and wait until it shows zero.");
        if (name[1] == 'o')
            scene_say(v, "Curing salt", "Put the empty cup (120.34 g) on the fine scale and let go.");
        scene_shows(v, "3.41 g", SETTLE_MOVING);
    } else if (!strcmp(name, "fill")) {
        scene_cure(v, ASK_FILL, G(21.37));
        scene_shows(v, "141.71 g", SETTLE_MOVING);
        v->prompt.answers = BIT(DONE);
    } else if (!strcmp(name, "rests") || !strcmp(name, "waits")) {
        scene_cure(v, ASK_FILL, G(62.41));
        scene_shows(v, "182.75 g", SETTLE_MOVING);
        v->prompt.answers = BIT(DONE) | BIT(DISCARD);
        v->rests = !strcmp(name, "rests");
        v->waits = !v->rests;
    } else if (!strcmp(name, "near") || !strcmp(name, "paused") || !strcmp(name, "sure")) {
        scene_cure(v, ASK_FILL, G(61.87));
        scene_shows(v, "182.21 g", SETTLE_MOVING);
        v->prompt.answers = BIT(DONE);
        v->state = *name == 'n' ? BATCH_RUNNING : BATCH_PAUSED;
        k->sure = *name == 's' ? ANSWER_STOP : ANSWER_COUNT;
    } else if (!strcmp(name, "ease") || !strcmp(name, "stop")) {
        scene_cure(v, ASK_FILL, *name == 'e' ? G(38.20) : G(55.41));
        scene_shows(v, *name == 'e' ? "158.54 g" : "175.75 g", SETTLE_MOVING);
        v->prompt.answers = BIT(DONE);
        v->cue = *name == 'e' ? CUE_EASE : CUE_STOP;
    } else if (!strcmp(name, "seldom")) {
        scene_cure(v, ASK_FILL, G(61.87));
        scene_shows(v, "182.21 g", SETTLE_MOVING);
        v->prompt.answers = BIT(DONE);
        v->seldom = true;
    } else if (!strcmp(name, "over")) {
        scene_over(v);
    } else if (!strcmp(name, "under")) {
        scene_cure(v, ASK_UNDER, G(50));
        v->prompt.answers = BIT(LOT) | BIT(SHORT) | BIT(HOLD);
        scene_say(v, "Curing salt", "At least 12.00 g of Curing salt is missing. Put more in, or pick what to do.");
        scene_choice(v, ANSWER_LOT, "PS-2198");
        scene_choice(v, ANSWER_LOT, "PS-2199");
        scene_choice(v, ANSWER_LOT, "");
        scene_choice(v, ANSWER_SHORT, "nothing left in the plant");
        scene_choice(v, ANSWER_SHORT, "");
        scene_choice(v, ANSWER_HOLD, "");
    } else if (!strcmp(name, "lug")) {
        scene_lug(v);
    } else if (!strcmp(name, "accept") || !strcmp(name, "second")) {
        scene_cure(v, ASK_CONFIRM, G(62.25));
        scene_shows(v, "182.59 g", SETTLE_SETTLED);
        v->prompt.answers = BIT(YES);
        v->prompt.what = *name == 'a' ? WHAT_WEIGHT : WHAT_SECOND;
        v->prompt.other = *name == 's';
        scene_say(v, "Curing salt", "62.25 g of Curing salt. Accept it?");
        if (*name == 's')
            scene_say(v, "Curing salt", "A second person looks at 62.25 g of Curing salt and gives their own code.");
    } else if (!strcmp(name, "empty") || !strcmp(name, "changed")) {
        scene_doubt(v, *name == 'e');
    } else if (!strcmp(name, "dead")) {
        scene_dead(v, k);
    } else if (!strcmp(name, "hostile")) {
        scene_hostile(v);
    }
}

#endif
