// SPDX-License-Identifier: Apache-2.0
#include "standin/controller.h"
