/* Hid: the names of USB weighing devices, and which are plugged in. */
#ifndef DRIVERS_HID_H
#define DRIVERS_HID_H

#include "drivers/driver.h"

#define HID_WEIGHING_PAGE 0x8D /* USB-IF, HID Usage Tables */
#define HID_SERIAL 64          /* with NUL */
#define HID_MOST 16            /* devices that are looked at */

struct hid_found {
    unsigned short vendor, product;
    char serial[HID_SERIAL]; /* "" = none, or none that a device text can hold (blanks, commas) */
    char path[64];
};

struct hid_name {
    unsigned short vendor, product;
    const char *serial; /* into the device text; NULL = not given */
};

/* "hid:VID:PID" or "hid:VID:PID:SERIAL", the numbers in hexadecimal. */
bool hid_split(const char *device, struct hid_name *out);
/* The weighing devices that are plugged in, at most `room`; 0 for vendor or product: any. Uses the heap. */
unsigned hid_list(unsigned short vendor, unsigned short product, struct hid_found *out, unsigned room);

#endif
