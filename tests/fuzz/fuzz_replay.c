/* Any bytes as a capture that is replayed: the reader of captures, and behind it the whole station, files, decoder, sequence and
 * words. It ends with one of the documented codes. */
#include <fcntl.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "core/exit.h"
#include "fuzz.h"
#include "station/station.h"

/* Where a scratch journal costs no disk. */
static int prepare(char path[64])
{
    int fd = memfd_create("capture", MFD_CLOEXEC);
    MUST(fd >= 0);
    setenv("TMPDIR", "/dev/shm", 1);
    setenv("TARELINE_PROFILES", "profiles", 1);
    snprintf(path, 64, "/proc/self/fd/%d", fd);
    return fd;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char path[64];
    static int fd = -1;

    if (fd < 0)
        fd = prepare(path);
    MUST(ftruncate(fd, 0) == 0 && pwrite(fd, data, size, 0) == (ssize_t)size);
    struct weigh_arguments args = {.replay = path, .batches = 1, .face = size % 2 ? SCREEN_JSON : SCREEN_PLAIN};
    int code = station_weigh(&args);
    MUST(code >= EXIT_DONE && code <= EXIT_JOURNAL);
    return 0;
}
