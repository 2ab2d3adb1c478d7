// SPDX-License-Identifier: Apache-2.0
#include "picture/grey.h"

#include <algorithm>

namespace drycrank::picture {

double Quantile(std::vector<float> values, double share) {
  if (values.empty()) return 0;
  const auto at =
      values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

Grey Smooth(const Grey& in, int reach) {
  const auto count = static_cast<float>(2 * reach + 1);
  Grey out = in;
  for (const bool along_x : {true, false}) {
    const Grey from = out;
    for (int y = 0; y < in.height; ++y) {
      for (int x = 0; x < in.width; ++x) {
        float sum = 0;
        for (int d = -reach; d <= reach; ++d) {
          sum += along_x ? from.At(std::clamp(x + d, 0, in.width - 1), y)
                         : from.At(x, std::clamp(y + d, 0, in.height - 1));
        }
        out.At(x, y) = sum / count;
      }
    }
  }
  return out;
}

}  // namespace drycrank::picture
