// All the states that a power cut may leave behind each operation of a recorded run: nothing of
// what was pending, all of it, each ordered part, each single operation, all but one; each pending
// write also torn in half and filled with zeros.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "memory_disk.h"

namespace clutchward::testing_disk {

struct Cut {
  Files files;
  std::uint64_t attempted = 0;
  std::uint64_t acknowledged = 0;
};

class PowerCuts {
 public:
  explicit PowerCuts(Files before) {
    for (const auto& [path, bytes] : before) {
      base_names_[path] = --next_;
      base_data_[next_] = bytes;
    }
  }

  // Calls `check` for each distinct state behind each prefix of the operations.
  void each(const std::vector<Operation>& operations,
            const std::function<void(const Cut&)>& check) {
    emit(check);
    for (const Operation& operation : operations) {
      step(operation);
      emit(check);
    }
  }
  std::size_t states() const { return states_; }
  std::size_t distinct() const { return seen_.size(); }

 private:
  enum class Part { none, half, zeros, all };

  static std::string folder(const std::string& path) { return path.substr(0, path.rfind('/')); }

  void step(const Operation& operation) {
    using Kind = Operation::Kind;
    if (operation.kind == Kind::mark) {
      attempted_ = operation.attempted;
      acknowledged_ = operation.acknowledged;
    } else if (operation.kind == Kind::sync) {
      settle(
          [&](const Operation& p) { return p.kind == Kind::write && p.inode == operation.inode; });
    } else if (operation.kind == Kind::sync_folder) {
      settle([&](const Operation& p) {
        return p.kind != Kind::write && folder(p.path) == operation.path;
      });
    } else if (operation.kind == Kind::failed_sync) {
      // What was pending is gone, whatever a later sync says: a hole of zeros in its place.
      for (Operation& pending : pending_)
        if (pending.kind == Kind::write && pending.inode == operation.inode)
          pending.bytes.assign(pending.bytes.size(), '\0');
    } else {
      pending_.push_back(operation);
    }
  }

  template <class Which>
  void settle(Which which) {
    std::vector<Operation> left;
    for (Operation& operation : pending_) {
      if (which(operation))
        apply(operation, Part::all, base_names_, base_data_);
      else
        left.push_back(std::move(operation));
    }
    pending_ = std::move(left);
  }

  static void apply(const Operation& operation, Part part, std::map<std::string, int>& names,
                    std::map<int, std::string>& data) {
    using Kind = Operation::Kind;
    const auto is_here = [&](const std::string& path) {
      const auto found = names.find(path);
      return found != names.end() && (operation.inode < 0 || found->second == operation.inode);
    };
    if (part == Part::none) return;
    if (operation.kind == Kind::create) names[operation.path] = operation.inode;
    if (operation.kind == Kind::remove && names.count(operation.path) != 0)
      names.erase(operation.path);
    if (operation.kind == Kind::rename) {
      if (is_here(operation.path)) names.erase(operation.path);
      names[operation.to] = operation.inode;
    }
    if (operation.kind == Kind::write) {
      std::string& bytes = data[operation.inode];
      if (part == Part::all) bytes += operation.bytes;
      if (part == Part::half) bytes += operation.bytes.substr(0, operation.bytes.size() / 2);
      if (part == Part::zeros) bytes.append(operation.bytes.size(), '\0');
    }
  }

  void emit(const std::function<void(const Cut&)>& check) {
    const std::size_t n = pending_.size();
    std::vector<Part> parts(n, Part::none);
    variant(parts, check);
    for (std::size_t i = 0; i < n; ++i) {
      parts[i] = Part::all;  // an ordered part: everything up to i
      variant(parts, check);
      const bool writes = pending_[i].kind == Operation::Kind::write;
      for (const Part torn : {Part::half, Part::zeros}) {
        if (!writes) continue;
        parts[i] = torn;
        variant(parts, check);
      }
      parts[i] = Part::all;
    }
    for (std::size_t i = 0; i < n; ++i) {
      std::vector<Part> single(n, Part::none);
      single[i] = Part::all;
      variant(single, check);
      const bool writes = pending_[i].kind == Operation::Kind::write;
      for (const Part torn : {Part::none, Part::half, Part::zeros}) {
        if (!writes && torn != Part::none) continue;
        std::vector<Part> but_one(n, Part::all);
        but_one[i] = torn;
        variant(but_one, check);
      }
    }
  }

  void variant(const std::vector<Part>& parts, const std::function<void(const Cut&)>& check) {
    ++states_;
    std::map<std::string, int> names = base_names_;
    std::map<int, std::string> data = base_data_;
    for (std::size_t i = 0; i < parts.size(); ++i) apply(pending_[i], parts[i], names, data);
    Cut cut;
    for (const auto& [path, inode] : names) cut.files[path] = data[inode];
    cut.attempted = attempted_;
    cut.acknowledged = acknowledged_;
    std::string all = std::to_string(attempted_) + "," + std::to_string(acknowledged_) + "\n";
    for (const auto& [path, bytes] : cut.files) all += path + "\n" + bytes + "\n";
    if (seen_.insert(std::hash<std::string>()(all)).second) check(cut);
  }

  std::map<std::string, int> base_names_;
  std::map<int, std::string> base_data_;
  std::vector<Operation> pending_;
  std::set<std::size_t> seen_;
  std::size_t states_ = 0;
  std::uint64_t attempted_ = 0;
  std::uint64_t acknowledged_ = 0;
  int next_ = -1;
};

}  // namespace clutchward::testing_disk
