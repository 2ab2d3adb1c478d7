// SPDX-License-Identifier: Apache-2.0
#include "engine/motion.h"
