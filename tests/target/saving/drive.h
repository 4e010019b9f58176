/* How a product's memory is reached: by one of the drivers beside this file. Written for the prefix p. */
#ifndef DRIVE_H
#define DRIVE_H

#include "subject.h"

/* The memory, as p_driver wants it. */
void drive(p_driver *driver);

#endif
