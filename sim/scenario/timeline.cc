// SPDX-License-Identifier: Apache-2.0
#include "scenario/timeline.h"
