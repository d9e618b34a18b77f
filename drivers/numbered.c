/* Numbered: see numbered.h. */
#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "drivers/line.h"
#include "drivers/numbered.h"
#include "drivers/ports.h"

#ifndef NUMBERED_FOLDER /* the tests have one of their own */
#define NUMBERED_FOLDER "/dev"
#endif

/* The kernel's names for USB serial adaptors: Linux, Documentation/admin-guide/devices.txt, majors 188 and 166. */
static bool is_number(const char *name)
{
    static const char *const stems[] = {"ttyUSB", "ttyACM"};
    for (unsigned i = 0; i < sizeof stems / sizeof *stems; i++) {
        size_t n = strlen(stems[i]);
        if (!strncmp(name, stems[i], n) && name[n] && name[n + strspn(name + n, "0123456789")] == '\0')
            return true;
    }
    return false;
}

/* The path in a device text; false if it holds none. */
static bool path_in(const char *device, char path[PATH_MAX])
{
    const char *modbus = line_of_modbus(device), *at = modbus ? modbus : device;
    const char *end = modbus ? strrchr(at, ':') : at + strlen(at);
    if (!end || end - at >= PATH_MAX || (!modbus && !line_is_path(device)))
        return false;
    memcpy(path, at, (size_t)(end - at));
    path[end - at] = '\0';
    return true;
}

bool numbered_name(const char *device)
{
    char path[PATH_MAX];
    struct stat st;
    const char *slash = path_in(device, path) ? strrchr(path, '/') : NULL;
    if (!slash || !is_number(slash + 1))
        return false;
    return lstat(path, &st) || !S_ISLNK(st.st_mode);
}

/* A name by serial number that is not one adaptor's alone. */
static bool shared_in_doubt(const char *device, char *why)
{
    char path[PATH_MAX];
    if (!path_in(device, path) || strncmp(path, PORTS_BY_ID "/", sizeof PORTS_BY_ID) != 0 || !ports_twins(path))
        return false;
    snprintf(why, DRIVER_WHY,
             "%.66s is the name of two adaptors with the same serial number or none: give the name under "
             "/dev/serial/by-path that tareline ports lists",
             device);
    return true;
}

static bool number_in_doubt(const char *device, char *why)
{
    struct dirent *e;
    unsigned n = 0;
    if (!numbered_name(device))
        return false;
    DIR *d = opendir(NUMBERED_FOLDER);
    while (d && (e = readdir(d)) != NULL)
        n += is_number(e->d_name);
    if (d)
        closedir(d);
    if (n > 1)
        snprintf(why, DRIVER_WHY,
                 "%.40s only says in which order it was plugged in, and %u such ports are here: give the name that "
                 "tareline ports --prove prints",
                 device, n);
    return n > 1;
}

bool numbered_in_doubt(const char *device, char *why)
{
    return number_in_doubt(device, why) || shared_in_doubt(device, why);
}
