// The real mosquitto on a free loopback port with a configuration of its own, and the stock command
// line clients as the other side. Nothing here stands in for a broker.
#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <memory>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "../free_port.h"
#include "ingest/inbox.h"
#include "ingest/mqtt_client.h"

namespace clutchward::ingest_test {

inline Stamp real_stamp() noexcept {
  const auto ms = [](clockid_t id) {
    timespec t{};
    ::clock_gettime(id, &t);
    return Span(t.tv_sec * 1000 + t.tv_nsec / 1'000'000);
  };
  return {Steady(ms(CLOCK_BOOTTIME)), Wall(ms(CLOCK_REALTIME))};
}

inline void nap(int ms) { std::this_thread::sleep_for(std::chrono::milliseconds(ms)); }

// A busy machine with a sanitizer: nothing waits this long where all is well.
constexpr int kLimitMs = 30'000;

inline bool eventually(const std::function<bool()>& condition, int limit_ms = kLimitMs) {
  for (int waited = 0; waited < limit_ms; waited += 10) {
    if (condition()) return true;
    nap(10);
  }
  return condition();
}

using test::free_port;

class TempDir {
 public:
  TempDir() {
    std::string name = (std::filesystem::temp_directory_path() / "clutchward-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
    // The broker gives root up for its own user and must still read here.
    std::filesystem::permissions(path_, std::filesystem::perms(0755));
  }
  ~TempDir() { std::filesystem::remove_all(path_); }
  std::string operator/(const std::string& name) const { return path_ + "/" + name; }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(*this / name) << text;
  }

 private:
  std::string path_;
};

inline pid_t spawn(const std::vector<std::string>& words, const std::string& output,
                   const std::vector<std::pair<std::string, std::string>>& environment = {}) {
  std::vector<char*> argv;
  for (const std::string& word : words) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  const pid_t pid = ::fork();
  if (pid == 0) {
    const int out = ::open(output.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0644);
    ::dup2(out, 1);
    ::dup2(out, 2);
    for (const auto& [name, value] : environment) ::setenv(name.c_str(), value.c_str(), 1);
    ::execvp(argv[0], argv.data());
    ::_exit(127);
  }
  return pid;
}

inline int wait_exit(pid_t pid) {
  int status = 0;
  ::waitpid(pid, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

inline std::string contents(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

class Broker {
 public:
  // `extra` are further lines of the configuration; a listener line of one's own replaces ours.
  explicit Broker(std::string extra = "allow_anonymous true\n", bool start_now = true)
      : port_(free_port()), extra_(std::move(extra)) {
    if (start_now) start();
  }
  ~Broker() { stop(SIGKILL); }

  void start() {
    dir_.write("mosquitto.conf", "listener " + std::to_string(port_) + " 127.0.0.1\n" +
                                     "persistence false\nlog_dest stderr\nlog_type all\n" + extra_);
    pid_ = spawn({"/usr/sbin/mosquitto", "-c", dir_ / "mosquitto.conf"}, dir_ / "log");
    ASSERT_TRUE(eventually([&] { return answers(); })) << log();
  }
  void stop(int with = SIGTERM) {
    if (pid_ <= 0) return;
    ::kill(pid_, with);
    wait_exit(pid_);
    pid_ = -1;
  }
  void signal(int number) const { ::kill(pid_, number); }
  void add(const std::string& lines) { extra_ += lines; }
  int port() const { return port_; }
  std::string url() const { return "mqtt://127.0.0.1:" + std::to_string(port_); }
  std::string log() const { return contents(dir_ / "log"); }
  const TempDir& dir() const { return dir_; }

  // Publishes with the stock client and waits for it.
  int publish(const std::string& topic, const std::string& payload,
              std::vector<std::string> more = {}) const {
    std::vector<std::string> words{
        "mosquitto_pub", "-h", "127.0.0.1", "-p", std::to_string(port_), "-q", "1", "-t",
        topic,           "-m", payload};
    words.insert(words.end(), more.begin(), more.end());
    return wait_exit(spawn(words, dir_ / "pub"));
  }

 private:
  bool answers() const {
    const int fd = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(static_cast<std::uint16_t>(port_));
    const bool yes = ::connect(fd, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0;
    ::close(fd);
    return yes;
  }

  TempDir dir_;
  int port_;
  std::string extra_;
  pid_t pid_ = -1;
};

// Where Debian puts the broker's own access plugin, whatever the architecture.
inline std::string security_plugin() {
  for (const auto& entry : std::filesystem::directory_iterator("/usr/lib")) {
    const auto plugin = entry.path() / "mosquitto_dynamic_security.so";
    if (std::filesystem::exists(plugin)) return plugin.string();
  }
  return {};
}

// The stock subscriber, its lines in a file: "topic payload", one a message.
class Watcher {
 public:
  Watcher(const Broker& broker, const std::string& filter, std::vector<std::string> more = {})
      : output_(broker.dir() / ("watch-" + std::to_string(++count_))) {
    std::vector<std::string> words{
        "mosquitto_sub", "-h", "127.0.0.1", "-p", std::to_string(broker.port()), "-q", "1", "-t",
        filter,          "-F", "%t %r %p"};
    words.insert(words.end(), more.begin(), more.end());
    pid_ = spawn(words, output_);
    ready_ = eventually([&] { return broker.log().find(filter + " (QoS") != std::string::npos; });
  }
  ~Watcher() {
    ::kill(pid_, SIGKILL);
    wait_exit(pid_);
  }
  std::string text() const { return contents(output_); }
  int count(const std::string& line) const {
    int found = 0;
    std::istringstream lines(text());
    for (std::string each; std::getline(lines, each);) found += each == line;
    return found;
  }
  bool sees(const std::string& line) const {
    return eventually([&] { return count(line) > 0; });
  }

 private:
  static inline int count_ = 0;
  std::string output_;
  pid_t pid_ = -1;
  bool ready_ = false;
};

// A copy of one Incoming that outlives the drain.
struct Heard {
  Incoming::Kind kind;
  LinkState link;
  bool retained;
  std::string topic;
  std::string payload;
  std::string response_topic;
  std::string correlation;
};

// One client with its inbox, and everything it has brought so far.
class Listener {
 public:
  explicit Listener(MqttOptions options) : client(std::move(options), inbox, real_stamp) {
    client.start();
  }
  const std::vector<Heard>& heard() {
    inbox.drain().for_each([this](const Incoming& item) {
      heard_.push_back({item.kind, item.link, item.retained, std::string(item.topic),
                        std::string(item.payload), std::string(item.response_topic),
                        std::string(item.correlation)});
    });
    return heard_;
  }
  int links(LinkState state) {
    int count = 0;
    for (const Heard& each : heard())
      count += each.kind == Incoming::Kind::link && each.link == state;
    return count;
  }
  bool sees(LinkState state, int times = 1, int limit_ms = kLimitMs) {
    return eventually([&] { return links(state) >= times; }, limit_ms);
  }
  const Heard* find(const std::function<bool(const Heard&)>& wanted, int limit_ms = kLimitMs) {
    const Heard* found = nullptr;
    eventually(
        [&] {
          for (const Heard& each : heard())
            if (wanted(each)) {
              found = &each;
              return true;
            }
          return false;
        },
        limit_ms);
    return found;
  }
  const Heard* link(LinkState state, int limit_ms = kLimitMs) {
    return find(
        [&](const Heard& each) { return each.kind == Incoming::Kind::link && each.link == state; },
        limit_ms);
  }
  const Heard* payload(const std::string& text) {
    return find([&](const Heard& each) {
      return each.kind != Incoming::Kind::link && each.payload == text;
    });
  }
  std::string all() {
    std::string text;
    for (const Heard& each : heard())
      text += std::to_string(static_cast<int>(each.kind)) + "/" +
              std::to_string(static_cast<int>(each.link)) + " " + each.topic + " " + each.payload +
              "\n";
    return text;
  }

  Inbox inbox;
  MqttClient client;

 private:
  std::vector<Heard> heard_;
};

inline MqttOptions options_for(const std::string& url) {
  MqttOptions options;
  options.url = url;
  options.client_id = "clutchward-test";
  options.base = "clutchward/saltmere";
  options.filters = {"farm/#"};
  return options;
}

}  // namespace clutchward::ingest_test
