// Draws surfaces and lines on a canvas by WebGL 2, lit from beside the eye.

const VERTEX_CODE = `#version 300 es
in vec3 corner;
in vec3 facing;
uniform mat4 view;
out vec3 place;
out vec3 normal;
void main() {
  place = corner;
  normal = facing;
  gl_Position = view * vec4(corner, 1.0);
}`;

const FRAGMENT_CODE = `#version 300 es
precision highp float;
in vec3 place;
in vec3 normal;
uniform vec3 eye;
uniform vec3 light;
uniform vec4 colour;
uniform float shine;
uniform float hatch;
out vec4 seen;
void main() {
  if (hatch > 0.0 && fract((place.x + place.y + place.z) / hatch) > 0.12) discard;
  float size = length(normal);
  vec3 shade = colour.rgb;
  if (size > 0.0) {
    vec3 towards = normalize(eye - place);
    vec3 facing = normal / size;
    if (dot(facing, towards) < 0.0) facing = -facing;
    float lit = 0.42 + 0.58 * max(dot(facing, light), 0.0);
    float glint = pow(max(dot(facing, normalize(light + towards)), 0.0), 40.0);
    shade = shade * lit + vec3(shine * glint);
  }
  seen = vec4(shade, colour.a);
}`;

class Drawing {
  /** On a canvas; `works` tells whether there is WebGL 2. Without it nothing is drawn. */
  constructor(canvas) {
    this.canvas = canvas;
    this.gl = canvas.getContext("webgl2", { antialias: true });
    this.works = Boolean(this.gl);
    if (this.works) this.prepare();
  }

  prepare() {
    const { gl } = this;
    const program = gl.createProgram();
    for (const [kind, code] of [
      [gl.VERTEX_SHADER, VERTEX_CODE],
      [gl.FRAGMENT_SHADER, FRAGMENT_CODE],
    ]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, code);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    gl.useProgram(program);
    this.places = ["corner", "facing"].map((name) => gl.getAttribLocation(program, name));
    this.uniforms = {};
    for (const name of ["view", "eye", "light", "colour", "shine", "hatch"]) {
      this.uniforms[name] = gl.getUniformLocation(program, name);
    }
    gl.enable(gl.DEPTH_TEST);
    gl.blendFuncSeparate(
      gl.SRC_ALPHA,
      gl.ONE_MINUS_SRC_ALPHA,
      gl.ONE,
      gl.ONE_MINUS_SRC_ALPHA,
    );
  }

  /** Put a surface, or lines where it has no triangles, into the card's memory. */
  loaded(shape) {
    const { gl } = this;
    if (!this.works) return null;
    const whole = gl.createVertexArray();
    gl.bindVertexArray(whole);
    const buffers = [shape.corners, shape.facing].map((numbers, n) => {
      const buffer = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(numbers), gl.STATIC_DRAW);
      gl.enableVertexAttribArray(this.places[n]);
      gl.vertexAttribPointer(this.places[n], 3, gl.FLOAT, false, 0, 0);
      return buffer;
    });
    if (shape.triangles.length) {
      buffers.push(gl.createBuffer());
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffers[2]);
      gl.bufferData(
        gl.ELEMENT_ARRAY_BUFFER,
        new Uint32Array(shape.triangles),
        gl.STATIC_DRAW,
      );
    }
    gl.bindVertexArray(null);
    return {
      whole,
      buffers,
      triangles: shape.triangles.length,
      corners: shape.corners.length / 3,
    };
  }

  /** Forget what was loaded. */
  dropped(loaded) {
    if (!loaded) return;
    this.gl.deleteVertexArray(loaded.whole);
    loaded.buffers.forEach((buffer) => this.gl.deleteBuffer(buffer));
  }

  /**
   * Draw pictures beside each other, each of some things, all as one camera sees them.
   *
   * A thing is `{ loaded, colour, opacity, shine, hatch, middle }`, its colour a name, of
   * which `colourOf` returns red, green and blue, 0 to 1.
   */
  draw(pictures, camera, colourOf) {
    const { gl, canvas } = this;
    if (!this.works) return;
    this.colourOf = colourOf;
    gl.clearColor(...colourOf("paper"), 1);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const width = canvas.width / pictures.length;
    pictures.forEach((things, n) => {
      gl.viewport(n * width, 0, width, canvas.height);
      this.drawAll(things, camera, width / canvas.height);
    });
  }

  /** What hides first, then what is seen through, from afar to near. */
  drawAll(things, camera, aspect) {
    const { gl } = this;
    const lens = camera.lens(aspect);
    gl.depthMask(true);
    gl.uniformMatrix4fv(this.uniforms.view, false, lens.matrix);
    gl.uniform3fv(this.uniforms.eye, lens.eye);
    gl.uniform3fv(
      this.uniforms.light,
      unit(add(add(lens.towards, scaled(lens.up, 0.45)), scaled(lens.right, -0.3))),
    );
    const isClear = (thing) => thing.opacity < 1;
    const far = (thing) => distance(thing.middle || camera.focus, lens.eye);
    things.filter((thing) => !isClear(thing)).forEach((thing) => this.drawOne(thing));
    gl.enable(gl.BLEND);
    gl.depthMask(false);
    things
      .filter(isClear)
      .sort((a, b) => far(b) - far(a))
      .forEach((thing) => this.drawOne(thing));
    gl.disable(gl.BLEND);
  }

  drawOne({ loaded, colour, opacity = 1, shine = 0, hatch = 0 }) {
    const { gl, uniforms } = this;
    gl.uniform4f(uniforms.colour, ...this.colourOf(colour), opacity);
    gl.uniform1f(uniforms.shine, shine);
    gl.uniform1f(uniforms.hatch, hatch);
    gl.bindVertexArray(loaded.whole);
    if (loaded.triangles)
      gl.drawElements(gl.TRIANGLES, loaded.triangles, gl.UNSIGNED_INT, 0);
    else gl.drawArrays(gl.LINES, 0, loaded.corners);
  }
}
