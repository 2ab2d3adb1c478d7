// SPDX-License-Identifier: Apache-2.0
#include "bus/layout.h"
