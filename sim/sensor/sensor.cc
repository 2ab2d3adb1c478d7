// SPDX-License-Identifier: Apache-2.0
#include "sensor/sensor.h"
