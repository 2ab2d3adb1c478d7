// SPDX-License-Identifier: Apache-2.0
//
// What a campaign leaves behind, as a folder:
//
//   campaign.json   what it was made of: versions, fingerprints, seed, part
//   faults.jsonl    one line per fault, written as each is done; when all are, in the order of the
//                   schedule
//   summary.json    the table by kind, and per value the worst that nobody notices
//   table.txt       the same for people
//   report.html     the same to print
// The page with an example: hw-notes/record-format.md.
//
// No clock and no path is in it: the same campaign gives the same bytes, in one piece or merged.
#ifndef DRYCRANK_STUDY_CAMPAIGN_FOLDER_H_
#define DRYCRANK_STUDY_CAMPAIGN_FOLDER_H_

#include <cstdio>
#include <set>
#include <string>
#include <vector>

#include "report/campaign.h"

namespace drycrank::study {

class CampaignFolder {
 public:
  CampaignFolder() = default;
  ~CampaignFolder();
  CampaignFolder(const CampaignFolder&) = delete;
  CampaignFolder& operator=(const CampaignFolder&) = delete;

  // Makes the folder, or takes up what an interrupted campaign with the same head left in it. Empty
  // on success, else what is wrong and what to do.
  [[nodiscard]] std::string Open(const std::string& folder, const report::CampaignHead& head,
                                 bool overwrite);

  // Indices that are there already.
  const std::set<std::size_t>& done() const { return done_; }
  // Of those that are there: was one played otherwise than predicted?
  bool trusts_predictions() const { return trusted_; }
  // Takes out again what was predicted and not played, for it to be played. Empty on success.
  [[nodiscard]] std::string DropPredicted();
  // Handed to the system at once. Empty on success.
  [[nodiscard]] std::string Add(const report::FaultResult& result);
  // REQUIRES: every fault of the part is there. Writes the other files.
  [[nodiscard]] std::string Finish(report::Campaign& out);

 private:
  [[nodiscard]] std::string TakeUp();
  [[nodiscard]] std::string OpenLines();
  void Note(const report::FaultResult& result);

  std::string folder_;
  report::CampaignHead head_;
  std::set<std::size_t> done_;
  bool trusted_ = true;
  std::FILE* lines_ = nullptr;
};

// What one part left behind, complete or not. Empty on success.
[[nodiscard]] std::string ReadCampaign(const std::string& folder, report::Campaign& out);

// All parts of one campaign put together. Problems: folders that do not fit together, parts that
// are missing, there twice or not finished; all of them at once.
[[nodiscard]] std::vector<std::string> MergeCampaigns(const std::vector<std::string>& folders,
                                                      report::Campaign& out);
// The files of a whole campaign, into a folder that has none. Empty on success.
[[nodiscard]] std::string WriteCampaign(const std::string& folder, const report::Campaign& campaign,
                                        bool overwrite);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CAMPAIGN_FOLDER_H_
