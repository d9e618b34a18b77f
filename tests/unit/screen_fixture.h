/* A small made-up batch of the smokehouse, for the tests of the screen room. */
#ifndef TESTS_SCREEN_FIXTURE_H
#define TESTS_SCREEN_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "screen/screen.h"

enum { IN_PORK, IN_SALT, IN_CURE, IN_CHEESE, IN_COUNT };

struct fixture {
    struct formula formula;
    struct scale_setup scales[2];
    struct setup setup;
    struct item work[4];
    struct prompt prompt;
    struct record record;
    struct effect effect;
    struct say say;
};

static inline void fixture_ingredient(struct ingredient *in, const char *key, const char *en, const char *de,
                                      uint16_t bin)
{
    snprintf(in->key, sizeof in->key, "%s", key);
    snprintf(in->name[0], sizeof in->name[0], "%s", en);
    snprintf(in->name[1], sizeof in->name[1], "%s", de);
    in->bin = bin;
}

static inline void fixture_init(struct fixture *f)
{
    memset(f, 0, sizeof *f);
    struct formula *fo = &f->formula;
    fo->ingredient_count = IN_COUNT;
    fixture_ingredient(&fo->ingredients[IN_PORK], "pork", "Pork shoulder", "Schweineschulter", 0);
    fixture_ingredient(&fo->ingredients[IN_SALT], "salt", "Salt", "", 3);
    fixture_ingredient(&fo->ingredients[IN_CURE], "cure", "Curing salt", "Pökelsalz", 4);
    fixture_ingredient(&fo->ingredients[IN_CHEESE], "cheese", "Mountain cheese", "Bergkäse", 12);
    fo->step_count = 2;
    fo->steps[0] = (struct step){.kind = STEP_INSTRUCTION, .key = "mix", .text = {"Mix until tacky."}};
    fo->steps[1] = (struct step){.kind = STEP_CHECK,
                                 .key = "temperature",
                                 .text = {"Temperature of the meat", "Temperatur der Masse"},
                                 .unit = "C",
                                 .low_milli = CHECK_NONE,
                                 .high_milli = 4500};
    f->scales[0] = (struct scale_setup){.name = "bench", .capacity = 15 * PG_PER_KG, .division = 5 * PG_PER_G};
    f->scales[1] = (struct scale_setup){.name = "fine", .capacity = 600 * PG_PER_G, .division = PG_PER_G / 100};
    f->setup = (struct setup){.formula = fo, .scales = f->scales, .scale_count = 2};
    for (uint16_t i = 0; i < 4; i++)
        f->work[i] =
            (struct item){.id = (uint16_t)(i + 1), .kind = ITEM_WEIGH, .ingredient = (uint8_t)i, .way = WAY_CUP};
    f->work[0].kind = ITEM_MEAT;
    f->say = (struct say){.n = 12, .batch = "B7", .setup = &f->setup, .work = f->work};
}

/* A prompt about the curing salt on the fine scale, with a band, unless changed after. */
static inline struct say *fixture_prompt(struct fixture *f, enum ask ask)
{
    f->prompt = (struct prompt){.id = 5,
                                .ask = (uint8_t)ask,
                                .item = 3,
                                .scale = 1,
                                .ingredient = IN_CURE,
                                .way = WAY_CUP,
                                .has_band = true,
                                .target = 6250 * (PG_PER_G / 100),
                                .low = 6200 * (PG_PER_G / 100),
                                .high = 6250 * (PG_PER_G / 100)};
    f->say.kind = SAY_PROMPT;
    f->say.prompt = &f->prompt;
    f->say.item = &f->work[2];
    return &f->say;
}

/* A weighing of the cheese on the bench scale. */
static inline struct say *fixture_record(struct fixture *f, enum say_kind kind, enum record_kind record)
{
    f->record = (struct record){.kind = (uint8_t)record,
                                .scale = 0,
                                .ingredient = IN_CHEESE,
                                .item = 4,
                                .has_band = true,
                                .has_gross = true,
                                .gross = 2145 * PG_PER_G,
                                .tare = 145 * PG_PER_G,
                                .net = 2000 * PG_PER_G,
                                .target = 2000 * PG_PER_G,
                                .low = 1980 * PG_PER_G,
                                .high = 2020 * PG_PER_G,
                                .lot = "K-88"};
    f->say.kind = (uint8_t)kind;
    f->say.record = &f->record;
    f->say.item = &f->work[3];
    f->say.seq = 41;
    return &f->say;
}

static inline struct say *fixture_effect(struct fixture *f, enum say_kind kind, uint8_t code)
{
    f->effect = (struct effect){.code = code, .scale = 1, .ingredient = IN_CURE, .mass = 135 * PG_PER_G};
    f->say.kind = (uint8_t)kind;
    f->say.effect = &f->effect;
    f->say.item = &f->work[2];
    return &f->say;
}

#endif
