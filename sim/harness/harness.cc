// SPDX-License-Identifier: Apache-2.0
#include "harness/harness.h"
