/* What the fuzz targets share: a check that is fatal. */
#ifndef TESTS_FUZZ_FUZZ_H
#define TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define MUST(condition)                                                                                                \
    do {                                                                                                               \
        if (!(condition)) {                                                                                            \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition);                                    \
            abort();                                                                                                   \
        }                                                                                                              \
    } while (0)

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
