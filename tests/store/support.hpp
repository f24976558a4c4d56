#pragma once

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>

#include <stdlib.h>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "scores/read_long.hpp"
#include "store/store.hpp"

namespace evenhand::test {

/// A folder that goes with the test.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "evenhand-store-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test");
    path_ = name;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }

  std::string operator/(const std::string& name) const { return (path_ / name).string(); }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// Minutes after 2026-09-01T08:00:00Z.
inline base::Time minute(int n) {
  return base::Time(std::chrono::sys_days(std::chrono::year{2026} / 9 / 1) + std::chrono::hours(8)) +
         std::chrono::minutes(n);
}

inline store::Store open_store(const std::string& path, store::OpenMode mode = store::OpenMode::create) {
  auto opened = store::Store::open(path, mode, minute(0));
  if (!opened) throw std::runtime_error(opened.error().message);
  return std::move(*opened);
}

inline std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_file(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

/// What another program might do to a store.
inline void tamper(const std::string& path, const std::string& sql) {
  SQLite::Database(path, SQLite::OPEN_READWRITE).exec(sql);
}

inline store::Sitting sitting_of(const std::string& rater, const std::string& id) {
  store::Sitting sitting;
  sitting.id = SittingId(id);
  sitting.rater = RaterId(rater);
  sitting.set = SetId("first-steps");
  sitting.instrument_fingerprint = "1f";
  sitting.rulings_fingerprint = "2f";
  sitting.program_version = "0.1.0";
  sitting.seed = 0xFFFF'FFFF'FFFF'FFFEU;
  sitting.begun = minute(1);
  return sitting;
}

inline store::Answer answer_of(const std::string& item, const std::string& value,
                               std::uint32_t revision = 1) {
  store::Answer answer;
  answer.scored_case = CaseId("pb-otter");
  answer.item = ItemId(item);
  answer.case_fingerprint = "c4";
  answer.revision = revision;
  answer.trial = 2;
  answer.value = value;
  answer.observations = {{"hold", "31.2"}, {"position", "heel-to-toe"}};
  answer.stopwatch = {{1, 12.25}, {2, 31.2}};
  answer.sureness = 0.75;
  answer.at = minute(2);
  return answer;
}

inline scores::ScoreTable table_from(const std::string& csv, const std::string& name = "scores.csv") {
  auto read = scores::read_long(csv, name);
  if (!read) throw std::runtime_error("the scores of the test have faults");
  return std::move(read->table);
}

}  // namespace evenhand::test
