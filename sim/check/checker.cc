// SPDX-License-Identifier: Apache-2.0
#include "check/checker.h"
