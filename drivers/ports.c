/* Ports: see ports.h. */
#include <dirent.h>
#include <libserialport.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivers/hid.h"
#include "drivers/ports.h"

#define BY_PATH "/dev/serial/by-path"
#define ID_ROOM 100

/* A device says what it likes of itself: nothing of it may reach a terminal or a station file as more than text. */
static void printable(const char *text, char *out, size_t cap)
{
    size_t n = 0;
    for (; text && *text && n < cap - 1; text++)
        out[n++] = *text >= ' ' && *text <= '~' && *text != '"' && *text != '\\' ? *text : '?';
    out[n] = '\0';
}

static bool plain(const char *text)
{
    for (; *text; text++)
        if (*text <= ' ' || *text > '~' || *text == '"' || *text == '\\')
            return false;
    return true;
}

/* The link in the folder that leads to the port. */
static bool link_to(const char *folder, const char *port, char out[PORTS_DEVICE])
{
    char path[PATH_MAX], target[PATH_MAX];
    struct dirent *e;
    bool found = false;
    DIR *d = opendir(folder);
    while (d && !found && (e = readdir(d)) != NULL) {
        int n = snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        found = e->d_name[0] != '.' && plain(e->d_name) && n < PORTS_DEVICE && realpath(path, target) &&
                !strcmp(target, port);
        if (found)
            memcpy(out, path, (size_t)n + 1);
    }
    if (d)
        closedir(d);
    return found;
}

/* What an adaptor calls itself; false if it is none on USB. */
static bool identity(struct sp_port *sp, char out[ID_ROOM])
{
    int vendor, product;
    if (sp_get_port_transport(sp) != SP_TRANSPORT_USB || sp_get_port_usb_vid_pid(sp, &vendor, &product) != SP_OK)
        return false;
    const char *serial = sp_get_port_usb_serial(sp);
    snprintf(out, ID_ROOM, "%x:%x:%.80s", (unsigned)vendor, (unsigned)product, serial ? serial : "");
    return true;
}

/* Another adaptor that calls itself the same; the ports of one adaptor share its address and are told apart by udev. */
static bool port_has_twin(struct sp_port *const *all, struct sp_port *sp)
{
    char own[ID_ROOM], other[ID_ROOM];
    int bus, address, other_bus, other_address;
    if (!identity(sp, own) || sp_get_port_usb_bus_address(sp, &bus, &address) != SP_OK)
        return false;
    for (; *all; all++)
        if (identity(*all, other) && !strcmp(own, other) &&
            sp_get_port_usb_bus_address(*all, &other_bus, &other_address) == SP_OK &&
            (bus != other_bus || address != other_address))
            return true;
    return false;
}

bool ports_twins(const char *device)
{
    char path[PATH_MAX];
    struct sp_port **all;
    bool twins = false;
    if (!realpath(device, path) || sp_list_ports(&all) != SP_OK)
        return false;
    for (unsigned i = 0; all[i] && !twins; i++)
        twins = !strcmp(sp_get_port_name(all[i]), path) && port_has_twin(all, all[i]);
    sp_free_port_list(all);
    return twins;
}

static bool describe(struct sp_port *sp, struct sp_port *const *all, struct port_found *out)
{
    const char *name = sp_get_port_name(sp), *serial, *stays = "its name may change";
    char text[60];
    *out = (struct port_found){.reports = false};
    if (!name || strlen(name) >= sizeof out->device)
        return false;
    memcpy(out->device, name, strlen(name) + 1);
    printable(sp_get_port_description(sp), text, sizeof text);
    if (sp_get_port_transport(sp) == SP_TRANSPORT_USB) {
        serial = sp_get_port_usb_serial(sp);
        /* without a serial number a name by-id is that of the kind, and goes to whichever was plugged in */
        if (serial && serial[0] && !port_has_twin(all, sp) && link_to(PORTS_BY_ID, name, out->device))
            stays = "by its serial number";
        else if (link_to(BY_PATH, name, out->device))
            stays = "by its socket: leave it there";
    } else {
        stays = "a port of the board";
    }
    snprintf(out->what, sizeof out->what, "%s; %s", text, stays);
    return true;
}

static unsigned list_serial(struct port_found out[PORTS_MOST])
{
    struct sp_port **all;
    unsigned n = 0;
    if (sp_list_ports(&all) != SP_OK)
        return 0;
    for (unsigned i = 0; all[i] && n < PORTS_MOST; i++)
        n += describe(all[i], all, &out[n]);
    sp_free_port_list(all);
    return n;
}

static bool has_twin(const struct hid_found *found, unsigned n, unsigned which)
{
    for (unsigned i = 0; i < n; i++)
        if (i != which && found[i].vendor == found[which].vendor && found[i].product == found[which].product &&
            !strcmp(found[i].serial, found[which].serial))
            return true;
    return false;
}

unsigned ports_list(struct port_found out[PORTS_MOST])
{
    struct hid_found hid[HID_MOST];
    unsigned n = list_serial(out), count = hid_list(0, 0, hid, HID_MOST);
    for (unsigned i = 0; i < count && n < PORTS_MOST; i++, n++) {
        out[n] = (struct port_found){.reports = true};
        snprintf(out[n].device, sizeof out[n].device, "hid:%04x:%04x%s%s", hid[i].vendor, hid[i].product,
                 hid[i].serial[0] ? ":" : "", hid[i].serial);
        snprintf(out[n].what, sizeof out[n].what, "HID scale; %s",
                 has_twin(hid, count, i) ? "another one is called the same: only one of them can be used"
                 : hid[i].serial[0]      ? "by its serial number"
                                         : "it has no serial number: only one of its kind can be used");
    }
    return n;
}
