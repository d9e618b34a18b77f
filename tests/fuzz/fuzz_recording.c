/* Any bytes as a line of a recording; a good line, written again, says the same. */
#include <string.h>

#include "drivers/recording.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct recording_line line, again;
    char text[RECORDING_LINE];
    FILE *to;

    memset(&line, 0, sizeof line);
    if (recording_parse((const char *)data, size, &line) != NULL || line.kind != RECORDING_DATA)
        return 0;
    MUST(line.len >= 1 && line.len <= RECORDING_BYTES);
    to = fmemopen(text, sizeof text, "w");
    MUST(to && recording_write(to, line.at, line.bytes, line.len));
    fclose(to);
    MUST(recording_parse(text, strcspn(text, "\n"), &again) == NULL);
    MUST(again.kind == RECORDING_DATA && again.at == line.at && again.len == line.len);
    MUST(!memcmp(again.bytes, line.bytes, line.len));
    return 0;
}
