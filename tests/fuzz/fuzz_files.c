/* Any bytes as one of our files: read whole, told apart, read by every reader; every fault has its file and line. */
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "files/files.h"
#include "fuzz.h"

static struct formula formula;
static struct file_text text;
static struct faults faults;
static char path[64];
static int fd = -1;

static void prepare(void)
{
    setenv("TARELINE_PROFILES", "profiles", 1);
    MUST(file_read("profiles/formulas/smoked-bratwurst.ini", &text, &faults));
    MUST(formula_read(&text, &formula, &faults));
    fd = memfd_create("input", MFD_CLOEXEC);
    MUST(fd >= 0);
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
}

/* No fault is silent, and none is said without its place. */
static void check(bool good)
{
    MUST(good == (faults.count == 0));
    MUST(faults.len < sizeof faults.text && faults.text[faults.len] == '\0');
    for (const char *line = faults.text; *line; line = strchr(line, '\n') + 1)
        MUST(strchr(line, '\n') && strchr(line, ':'));
    memset(&faults, 0, sizeof faults);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct formula read_formula;
    static struct profile profile;
    static struct station station;
    static struct people people;
    static struct limit limits[CAP_INGREDIENTS];
    const char *kind = NULL;

    if (fd < 0)
        prepare();
    MUST(ftruncate(fd, 0) == 0 && pwrite(fd, data, size, 0) == (ssize_t)size);
    memset(&faults, 0, sizeof faults);
    if (!file_read(path, &text, &faults)) {
        check(false);
        return 0;
    }
    check(file_check(&text, &kind, &faults));
    check(formula_read(&text, &read_formula, &faults));
    check(profile_read(&text, &profile, &faults));
    check(station_read(&text, &station, &faults));
    check(people_read(&text, &people, &faults));
    check(limits_read(&text, "us", &formula, limits, &faults));
    return 0;
}
