// SPDX-License-Identifier: Apache-2.0
#include "report/report.h"
