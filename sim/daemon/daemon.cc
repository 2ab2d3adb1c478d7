// SPDX-License-Identifier: Apache-2.0
#include "types/time.h"
