/* What can go wrong in core, as one small code. Core never writes a sentence: src/screen/ has the words. */
#ifndef CORE_FAIL_H
#define CORE_FAIL_H

enum fail {
    FAIL_NONE = 0,
    FAIL_SYNTAX = -1,  /* the text is not of the form asked for */
    FAIL_UNIT = -2,    /* a mass without a unit, or with one that is not known */
    FAIL_RANGE = -3,   /* outside what the type holds (mass: +/-9,223 kg; share: terms below 2^31) */
    FAIL_INEXACT = -4, /* more decimals than can be held exactly */
    FAIL_ZERO = -5,    /* a division by zero was asked for */
    FAIL_FULL = -6,    /* a fixed array is full */
};

#endif
