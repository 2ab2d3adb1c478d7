// SPDX-License-Identifier: Apache-2.0
//
// How a record comes into its folder. It is begun in kMakingFolder and then takes the place of the one that is
// there, so that at each instant one of both is whole:
//
//   1  the old one's files get a second name each, in kBeforeFolder (whole once it has that name)
//   2  they leave the folder, record.json first: no mixture of two can be taken for a record
//   3  the new one's come, record.json last
//   4  kBeforeFolder goes
//
// Whoever is killed within leaves the old record in kBeforeFolder, and the next one begun takes its place. Reports go
// with the record they are of. Only what a record of ours writes is touched; of profiles/ what the old
// record.json lists. Rejected: exchanging the whole folder (renameat2), for its lock and the files of others in
// it would go with it.
#ifndef DRYCRANK_RECORD_RECORD_SWAP_H_
#define DRYCRANK_RECORD_RECORD_SWAP_H_

#include <filesystem>
#include <string>

namespace drycrank::record {

// Where a record is made before it takes the place of what is there; gone again in any case.
struct Aside {
  explicit Aside(const std::filesystem::path& folder);
  ~Aside();
  Aside(const Aside&) = delete;
  Aside& operator=(const Aside&) = delete;
  const std::filesystem::path path;

 private:
  void Clear() const;
};

// REQUIRES: the folder is this process's. Empty on success; who has an old file open keeps it.
[[nodiscard]] std::string MoveIn(const std::filesystem::path& aside,
                                 const std::filesystem::path& folder);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_RECORD_SWAP_H_
